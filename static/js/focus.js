/*
 * Focus is never lost after a swap, and a refused form shows its first mistake.
 * A fragment may say what changed: put data-announce="..." on its root.
 */
(function () {
  "use strict";

  function firstMistake(root) {
    const found = root.querySelector(".refusal, [aria-invalid='true'], .field--invalid input");
    return found?.closest("[data-sample]") ? null : found;
  }

  function announce(words) {
    const live = document.getElementById("live");
    if (!live || !words) return;
    live.textContent = "";
    setTimeout(() => {
      live.textContent = words;
    }, 60);
  }

  document.addEventListener("htmx:afterSettle", (event) => {
    // What loads by itself must not take the focus from where someone is.
    if (event.detail.requestConfig?.elt?.hasAttribute("data-quiet")) return;
    const root = event.detail.elt;
    const said = root.closest("[data-announce]") || root.querySelector("[data-announce]");
    if (said) announce(said.dataset.announce);
    const mistake = firstMistake(root);
    if (mistake) {
      mistake.focus();
      return;
    }
    const lost = !document.activeElement || document.activeElement === document.body;
    if (!lost || !document.contains(root)) return;
    const next = root.querySelector("[data-focus], [autofocus]") || root;
    if (!next.matches("a, button, input, select, textarea, [tabindex]")) {
      next.setAttribute("tabindex", "-1");
    }
    next.focus({ preventScroll: true });
  });

  document.addEventListener("announce", (event) =>
    announce(event.detail.value || event.detail.message),
  );

  document.addEventListener("DOMContentLoaded", () => {
    const mistake = firstMistake(document);
    if (mistake) mistake.focus();
  });
})();
