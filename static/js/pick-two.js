/* Two of several: a third pick lets go of the first; the button waits for two. */
(function () {
  "use strict";

  function boxes(form) {
    return [...form.elements].filter((element) => element.type === "checkbox");
  }

  function settle(form) {
    const picked = boxes(form).filter((box) => box.checked);
    form.querySelector("button").disabled = picked.length !== 2;
  }

  document.addEventListener("change", (event) => {
    const form = event.target.form;
    if (!form?.matches("[data-pick-two]")) return;
    const picked = boxes(form).filter((box) => box.checked && box !== event.target);
    if (event.target.checked && picked.length > 1) picked[0].checked = false;
    settle(form);
  });
  document.addEventListener("DOMContentLoaded", () => {
    for (const form of document.querySelectorAll("[data-pick-two]")) settle(form);
  });
})();
