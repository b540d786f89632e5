/* A button that fills a field: data-fills="id of the field" data-value="what". */
(function () {
  "use strict";
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-fills]");
    if (!button) return;
    const field = document.getElementById(button.dataset.fills);
    field.value = button.dataset.value;
    field.focus();
  });
})();
