/* Dialogs: data-opens="id" opens one, data-closes closes it; focus returns to the opener. */
(function () {
  "use strict";
  document.addEventListener("click", (event) => {
    const opener = event.target.closest("[data-opens]");
    if (opener) {
      event.preventDefault();
      const dialog = document.getElementById(opener.dataset.opens);
      dialog.showModal();
      dialog.addEventListener("close", () => opener.focus(), { once: true });
      return;
    }
    const closer = event.target.closest("[data-closes]");
    if (closer) closer.closest("dialog").close();
  });
})();
