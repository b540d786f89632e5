/* The menu in the bar closes on Escape and on a press elsewhere. */
(function () {
  "use strict";
  function close(menu) {
    menu.open = false;
  }
  document.addEventListener("click", (event) => {
    for (const menu of document.querySelectorAll("details.menu[open]")) {
      if (!menu.contains(event.target)) close(menu);
    }
  });
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    const menu = document.querySelector("details.menu[open]");
    if (!menu) return;
    close(menu);
    menu.querySelector("summary").focus();
  });
})();
