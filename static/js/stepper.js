/*
 * Minus and plus beside a number. Limits and step come from data-min, data-max and data-step;
 * holding a button repeats, in steps that grow where data-held names larger ones; the arrow and page keys count as well. The field holds text, so
 * that a comma typed on any keyboard stays a comma; data-decimal is what the page writes.
 */
(function () {
  "use strict";
  let repeat = null;

  const number = (text) => Number(String(text).trim().replace("−", "-").replace(",", "."));
  const decimals = (text) => (String(text ?? "").split(".")[1] || "").length;

  function told(input) {
    const { min, max, step, base } = input.dataset;
    return {
      min: min === undefined ? -Infinity : Number(min),
      max: max === undefined ? Infinity : Number(max),
      base: Number(base ?? min ?? 0),
      step: step === undefined || step === "any" ? 1 : Number(step),
      places: Math.max(decimals(min), decimals(step)),
      isFree: step === "any",
    };
  }

  /* The next whole step from the base, as a number field counts. */
  function count(input, by, held = 0) {
    if (input.disabled || input.readOnly) return;
    const { min, max, base, places, isFree, ...limits } = told(input);
    const step = held || limits.step;
    const empty = input.value.trim() === "";
    const now = number(input.value);
    if (Number.isNaN(now)) return;
    const steps = (now - base) / step;
    const whole = by > 0 ? Math.floor(steps + 1e-6) + by : Math.ceil(steps - 1e-6) + by;
    let next = isFree ? now + by : base + whole * step;
    if (empty) next = Number.isFinite(min) ? min : by * step;
    if (empty && input.dataset.start) next = Number(input.dataset.start);
    next = Math.min(max, Math.max(min, next));
    const text = next.toFixed(Math.max(places, isFree ? decimals(String(now)) : 0));
    const plain = text.includes(".") ? text.replace(/\.?0+$/, "") : text;
    const shown = plain.replace(".", input.dataset.decimal || ".");
    if (input.value === shown) return stopRepeat();
    input.value = shown;
    input.dispatchEvent(new Event("input", { bubbles: true }));
    input.dispatchEvent(new Event("change", { bubbles: true }));
  }

  function press(button, times = 0) {
    const input = button.parentElement.querySelector("input");
    count(input, Number(button.dataset.by), heldStep(input, times));
  }

  /* data-held lists the larger steps of a button that stays down: after one second, after two. */
  function heldStep(input, times) {
    const larger = (input.dataset.held || "").split(" ").filter(Boolean).map(Number);
    return larger[Math.min(Math.floor(times / 9), larger.length) - 1] || 0;
  }

  function mark(input) {
    const [less, more] = input.parentElement.querySelectorAll("[data-by]");
    const { min, max } = told(input);
    const value = input.value.trim() === "" ? NaN : number(input.value);
    less.disabled = input.disabled || value <= min;
    more.disabled = input.disabled || value >= max;
    if (Number.isNaN(value)) input.removeAttribute("aria-valuenow");
    else input.setAttribute("aria-valuenow", String(value));
    if (!Number.isNaN(value)) input.setAttribute("aria-valuetext", input.value.trim());
    else input.removeAttribute("aria-valuetext");
  }

  function stopRepeat() {
    clearTimeout(repeat);
    repeat = null;
  }

  function again(button, times) {
    repeat = setTimeout(() => {
      if (button.disabled) return;
      press(button, times);
      if (repeat !== null) again(button, times + 1);
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
      again(button, 1);
    }, 450);
  });
  for (const name of ["pointerup", "pointercancel", "pointerleave", "blur"]) {
    window.addEventListener(name, stopRepeat, true);
  }
  const keys = { ArrowUp: 1, ArrowDown: -1, PageUp: 10, PageDown: -10 };
  document.addEventListener("keydown", (event) => {
    const by = keys[event.key];
    if (!by || event.ctrlKey || event.altKey || event.metaKey) return;
    if (!event.target.matches?.("[data-stepper] input")) return;
    event.preventDefault();
    count(event.target, by);
  });
  document.addEventListener("input", (event) => {
    if (event.target.matches("[data-stepper] input")) mark(event.target);
  });

  function mount(root) {
    for (const input of root.querySelectorAll("[data-stepper] input")) mark(input);
  }
  mount(document);
  document.addEventListener("htmx:load", (event) => mount(event.detail.elt));
})();
