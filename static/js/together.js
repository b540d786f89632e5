/*
 * "Asked aloud: all no" (button[data-together]) answers the questions of its group that nobody
 * has answered yet; each stays to be seen and changed, and nothing is saved by it. The next
 * group is brought into sight, so that its questions are read before its own press.
 */
(function () {
  "use strict";

  function open(group) {
    const fields = [...group.querySelectorAll("[data-joined] fieldset")];
    return fields.filter((field) => !field.querySelector("input:checked"));
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("button[data-together]");
    if (!button) return;
    const group = button.closest("[data-group]");
    for (const field of open(group)) field.querySelector('input[value="no"]').click();
    const next = group.nextElementSibling;
    next?.scrollIntoView({ block: "start" });
    next?.querySelector("input, button")?.focus({ preventScroll: true });
  });
  for (const button of document.querySelectorAll("button[data-together]")) button.hidden = false;
})();
