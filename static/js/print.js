/* A button that prints the page: data-prints. */
(function () {
  "use strict";
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-prints]")) window.print();
  });
})();
