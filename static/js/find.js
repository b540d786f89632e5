/*
 * Find a client from anywhere: F2 (or Ctrl+K) opens the box, the arrow keys walk the results,
 * Enter in the box opens the first. A page with its own box is given the focus instead. No
 * single character is used: speech input would set it off (WCAG 2.2, 2.1.4).
 */
(function () {
  "use strict";

  document.addEventListener("keydown", (event) => {
    const asked = event.key === "F2" || (event.key === "k" && (event.ctrlKey || event.metaKey));
    if (!asked || document.querySelector("dialog[open]")) return;
    event.preventDefault();
    const own = document.getElementById("find");
    if (own) return own.focus();
    document.querySelector("[data-find-opener]")?.click();
  });

  function results(form) {
    const found = document.querySelector(
      form.querySelector("[hx-target]").getAttribute("hx-target"),
    );
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

  // A link and no button of the form: Enter in the box would press it instead of opening the first.
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-typed-name]");
    const typed = document.getElementById("find")?.value.trim();
    if (!link || !typed) return;
    const address = new URL(link.href);
    address.searchParams.set("name", typed);
    link.href = address;
  });

  // Letters typed before htmx was ready (a slow network) still count.
  window.addEventListener("load", () => {
    for (const box of document.querySelectorAll("[data-find] input[type='search']")) {
      if (box.value !== box.defaultValue) box.dispatchEvent(new Event("late"));
    }
  });
})();
