/* What has just happened. A view may also send HX-Trigger: {"toast": {"message": "..."}}. */
(function () {
  "use strict";

  function show(message) {
    const place = document.getElementById("toasts");
    if (!place || !message) return;
    const toast = document.createElement("div");
    toast.className = "toast";
    const text = document.createElement("span");
    text.className = "toast__text";
    text.textContent = message;
    const close = document.createElement("button");
    close.className = "toast__close";
    close.type = "button";
    close.textContent = "×";
    close.setAttribute("aria-label", place.dataset.closeLabel);
    close.setAttribute("data-closes-toast", "");
    toast.append(text, close);
    place.append(toast);
  }

  document.addEventListener("toast", (event) => show(event.detail.message || event.detail.value));
  document.addEventListener("click", (event) => {
    const close = event.target.closest("[data-closes-toast]");
    if (close) close.closest(".toast").remove();
  });
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || document.querySelector("dialog[open]")) return;
    document.querySelector("#toasts .toast:last-child")?.remove();
  });
})();
