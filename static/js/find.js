/*
 * What is typed into the find box before the page has fully arrived still counts: on a slow
 * network the first letters come before htmx listens.
 */
(function () {
  "use strict";
  window.addEventListener("load", () => {
    for (const box of document.querySelectorAll("input[type='search'][hx-get]")) {
      if (box.value !== box.defaultValue) box.dispatchEvent(new Event("search", { bubbles: true }));
    }
  });
})();
