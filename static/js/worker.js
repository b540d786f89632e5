/* Register the service worker: the looks load from this device, and a lost network has a page. */
(function () {
  "use strict";
  if (!("serviceWorker" in navigator)) return;
  window.addEventListener("load", () => {
    navigator.serviceWorker
      .register("/service-worker.js", { scope: "/", updateViaCache: "none" })
      .catch(() => {
        /* shut by the browser's settings: the product works without it */
      });
  });
})();
