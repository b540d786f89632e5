/*
 * Find a client from anywhere: "/" opens the box, the arrow keys walk the results, Enter in the
 * box opens the first. A page with its own box is given the focus instead of the dialog.
 */
(function () {
  "use strict";

  function isTyping(element) {
    return element.closest("input, select, textarea, [contenteditable]");
  }

  document.addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey) return;
    if (isTyping(event.target) || document.querySelector("dialog[open]")) return;
    event.preventDefault();
    const own = document.getElementById("find");
    if (own) own.focus();
    else document.querySelector("[data-find-opener]")?.click();
  });

  function results(form) {
    const found = document.querySelector(form.querySelector("[hx-target]").getAttribute("hx-target"));
    return found ? Array.from(found.querySelectorAll("a")) : [];
  }

  document.addEventListener("keydown", (event) => {
    if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
    const form = event.target.closest("[data-find]");
    const found = event.target.closest(".found");
    if (form && event.key === "ArrowDown") {
      const first = results(form)[0];
      if (first) {
        event.preventDefault();
        first.focus();
      }
    } else if (found && event.target.matches("a")) {
      event.preventDefault();
      const links = Array.from(found.querySelectorAll("a"));
      const next = links.indexOf(event.target) + (event.key === "ArrowDown" ? 1 : -1);
      if (links[next]) links[next].focus();
      else if (next < 0) document.querySelector(`[hx-target="#${found.id}"]`)?.focus();
    }
  });
})();
