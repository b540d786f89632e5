/*
 * The number pad of a PIN field. The field itself stays the real input, for keyboard and screen
 * reader; a press on a key leaves the focus where it is, so that a tablet does not open its own
 * keyboard over the pad. The sixth digit sends the form, once it is known whose PIN it is.
 */
(function () {
  "use strict";

  function changed(input) {
    input.dispatchEvent(new Event("input", { bubbles: true }));
  }

  function full(input) {
    return input.value.length >= Number(input.maxLength);
  }

  function send(input) {
    const form = input.form;
    const whose = form.querySelectorAll("input[type='radio'][name='staff']");
    if (whose.length && !form.querySelector("input[name='staff']:checked")) return;
    form.requestSubmit();
  }

  document.addEventListener("pointerdown", (event) => {
    if (event.target.closest("[data-pin] .pin__key")) event.preventDefault();
  });
  document.addEventListener("mousedown", (event) => {
    if (event.target.closest("[data-pin] .pin__key")) event.preventDefault();
  });

  document.addEventListener("click", (event) => {
    const key = event.target.closest("[data-pin] .pin__key");
    if (!key) return;
    const input = key.closest("[data-pin]").querySelector("input");
    if (key.dataset.digit !== undefined && !full(input)) input.value += key.dataset.digit;
    else if (key.dataset.digitBack !== undefined) input.value = input.value.slice(0, -1);
    else if (key.dataset.digitClear !== undefined) input.value = "";
    changed(input);
  });

  document.addEventListener("input", (event) => {
    const pad = event.target.closest("[data-pin]");
    if (!pad) return;
    const input = event.target;
    const said = pad.querySelector("[data-pin-said]");
    if (said) said.textContent = `${input.value.length} ${pad.dataset.said}`;
    if (full(input)) send(input);
  });

  // Digits first, then the name: that works as well.
  document.addEventListener("change", (event) => {
    if (!event.target.matches("input[type='radio'][name='staff']")) return;
    const input = event.target.form.querySelector("[data-pin] input");
    if (!input) return;
    if (full(input)) send(input);
    else input.focus({ preventScroll: true });
  });

  // The sixth digit has sent it: an Enter after that would count as a second try.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented || !form.querySelector("[data-pin]") || form.matches("[hx-post]"))
      return;
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "yes";
  });
  window.addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
  });
})();
