/* Dialogs: data-opens="id" opens one, data-closes closes it; focus returns to where it was. */
(function () {
  "use strict";
  document.addEventListener("click", (event) => {
    const opener = event.target.closest("[data-opens]");
    if (opener) {
      event.preventDefault();
      const dialog = document.getElementById(opener.dataset.opens);
      const before = document.activeElement; // a key may have opened it from anywhere
      dialog.showModal();
      const back = () =>
        (before?.isConnected && before !== document.body ? before : opener).focus();
      dialog.addEventListener("close", back, { once: true });
      return;
    }
    const closer = event.target.closest("[data-closes]");
    if (closer) closer.closest("dialog").close();
  });
})();
