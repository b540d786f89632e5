/*
 * A long press opens what a stray finger should not: details[data-hold], where a client could tap
 * a PIN's few tries away. Enter and Space open it at once, as without this script; a finger that
 * cannot hold presses twice.
 */
(function () {
  "use strict";
  const LONG = 600;
  const details = document.querySelector("[data-hold]");
  if (!details) return;
  const summary = details.querySelector("summary");
  const hint = document.querySelector("[data-hold-hint]");
  let timer = 0;
  let isPressed = false;

  function open() {
    details.open = true;
    hint.textContent = "";
  }

  function release() {
    clearTimeout(timer);
  }

  summary.addEventListener("pointerdown", () => {
    isPressed = !details.open;
    if (isPressed) timer = setTimeout(open, LONG);
  });
  for (const kind of ["pointerup", "pointercancel", "pointerleave"]) {
    summary.addEventListener(kind, release);
  }
  summary.addEventListener("contextmenu", (event) => event.preventDefault());
  summary.addEventListener("click", (event) => {
    if (!isPressed) return;
    isPressed = false;
    event.preventDefault();
    if (details.open) return;
    if (hint.textContent) open();
    else hint.textContent = hint.dataset.words;
  });
})();
