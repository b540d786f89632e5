/* A line at the top whenever an answer takes longer than a blink (120 ms). */
(function () {
  "use strict";
  const line = document.getElementById("progress");
  if (!line) return;
  let timer = null;
  let waiting = 0;

  function start() {
    waiting += 1;
    if (timer === null) timer = setTimeout(() => line.classList.add("is-on"), 120);
  }

  function stop() {
    waiting = Math.max(0, waiting - 1);
    if (waiting > 0) return;
    clearTimeout(timer);
    timer = null;
    line.classList.remove("is-on");
  }

  function reset() {
    waiting = 0;
    stop();
  }

  // The request itself says when it is over: an element that was swapped out of the page in
  // the meantime sends no event of htmx any more, and one that was held back never started.
  document.addEventListener("htmx:beforeSend", (event) => {
    start();
    event.detail.xhr.addEventListener("loadend", stop, { once: true });
  });
  // A form that a script sends (send.js) says when it begins and when it is done.
  document.addEventListener("progress:start", start);
  document.addEventListener("progress:stop", stop);
  document.addEventListener("submit", (event) => {
    if (event.defaultPrevented) return;
    start();
    const button = event.submitter;
    if (button) button.setAttribute("aria-busy", "true");
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href]");
    const plain = event.button === 0 && !event.metaKey && !event.ctrlKey && !event.shiftKey;
    if (!link || !plain || event.defaultPrevented || link.target || link.hasAttribute("download"))
      return;
    const to = new URL(link.href, location.href);
    if (to.origin !== location.origin || to.pathname.endsWith(".pdf")) return;
    if (to.pathname === location.pathname && to.search === location.search && to.hash) return;
    start();
  });
  window.addEventListener("pageshow", (event) => {
    reset();
    if (!event.persisted) return;
    for (const button of document.querySelectorAll("[aria-busy]"))
      button.removeAttribute("aria-busy");
  });
})();
