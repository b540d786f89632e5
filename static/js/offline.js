/*
 * The page without network asks every few seconds whether the salon's server answers again. A
 * page is then opened by itself; a form is not sent again by itself, the person goes back to it.
 */
(function () {
  "use strict";
  const isForm = document.documentElement.dataset.sent === "form";
  const state = document.querySelector("[data-state-words]");
  const button = document.querySelector("[data-again]");
  let asking = false;

  for (const part of document.querySelectorAll("[data-for]")) {
    part.hidden = part.dataset.for !== (isForm ? "form" : "page");
  }
  if (isForm) button.textContent = button.dataset.form;

  function goOn() {
    if (isForm) history.back();
    else if (location.pathname === button.dataset.own) location.assign("/");
    else location.reload();
  }

  async function ask() {
    if (asking) return;
    asking = true;
    try {
      const answer = await fetch("/healthz", { cache: "no-store" });
      if (!answer.ok) return;
      if (isForm) state.textContent = state.dataset.back;
      else goOn();
    } catch {
      /* still no network */
    } finally {
      asking = false;
    }
  }

  button.addEventListener("click", goOn);
  window.addEventListener("online", ask);
  setInterval(ask, 5000);
})();
