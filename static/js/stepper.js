/*
 * Minus and plus beside a number. Limits and step come from the input's own min, max and step;
 * holding a button repeats; the arrow keys work as in every number field.
 */
(function () {
  "use strict";
  let repeat = null;

  function press(button) {
    const input = button.parentElement.querySelector("input");
    if (input.disabled || input.readOnly) return;
    const before = input.value;
    if (input.value === "" && input.min !== "") input.value = input.min;
    else if (input.step === "any") input.value = Number(input.value) + Number(button.dataset.by);
    else if (Number(button.dataset.by) > 0) input.stepUp();
    else input.stepDown();
    if (input.value === before) return stopRepeat();
    input.dispatchEvent(new Event("input", { bubbles: true }));
    input.dispatchEvent(new Event("change", { bubbles: true }));
  }

  function mark(input) {
    const [less, more] = input.parentElement.querySelectorAll("[data-by]");
    const value = input.valueAsNumber;
    less.disabled = input.disabled || (input.min !== "" && value <= Number(input.min));
    more.disabled = input.disabled || (input.max !== "" && value >= Number(input.max));
  }

  function stopRepeat() {
    clearTimeout(repeat);
    repeat = null;
  }

  function again(button) {
    repeat = setTimeout(() => {
      if (button.disabled) return;
      press(button);
      if (repeat !== null) again(button);
    }, 110);
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-stepper] [data-by]");
    if (button && !button.dataset.held) press(button);
    if (button) delete button.dataset.held;
  });
  document.addEventListener("pointerdown", (event) => {
    const button = event.target.closest("[data-stepper] [data-by]");
    if (!button || event.button !== 0) return;
    repeat = setTimeout(() => {
      button.dataset.held = "yes";
      press(button);
      again(button);
    }, 450);
  });
  for (const name of ["pointerup", "pointercancel", "pointerleave", "blur"]) {
    window.addEventListener(name, stopRepeat, true);
  }
  document.addEventListener("input", (event) => {
    if (event.target.matches("[data-stepper] input")) mark(event.target);
  });

  function mount(root) {
    for (const input of root.querySelectorAll("[data-stepper] input")) mark(input);
  }
  mount(document);
  document.addEventListener("htmx:load", (event) => mount(event.detail.elt));
})();
