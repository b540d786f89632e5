/*
 * The day beside the booking form: a start that is pressed goes into the form, which keeps all
 * else; another day asks for its starts. Nothing is sent before Book is pressed.
 */
(function () {
  "use strict";
  const form = document.getElementById("booking");
  if (!form) return;
  const field = (name) => form.elements.namedItem(name);

  function fill(name, value) {
    const control = field(name);
    if (!control || control.value === value) return;
    control.value = value;
    control.dispatchEvent(new Event("input", { bubbles: true }));
  }

  function mark() {
    for (const button of document.querySelectorAll("#booking-day [data-pick]")) {
      const { day, time, stylist } = button.dataset;
      const chosen =
        field("day").value === day &&
        field("time").value === time &&
        field("stylist").value === stylist;
      button.setAttribute("aria-pressed", String(chosen));
    }
  }

  function show() {
    const diary = document.querySelector("#booking-day .diary");
    const at = diary?.querySelector("[aria-pressed='true'], [data-pick]");
    if (at) diary.scrollTop = at.closest("li").offsetTop - 120;
  }

  document.addEventListener("click", (event) => {
    const start = event.target.closest("[data-pick]");
    const day = event.target.closest("[data-pick-day]");
    if (start) {
      for (const name of ["day", "time", "stylist"]) fill(name, start.dataset[name]);
      mark();
      form.dispatchEvent(new Event("picked"));
      form.querySelector("[data-books]").focus();
    } else if (day) {
      fill("day", day.dataset.pickDay);
      field("day").dispatchEvent(new Event("change", { bubbles: true }));
    }
  });

  form.addEventListener("change", mark);
  document.addEventListener("htmx:load", (event) => {
    if (event.detail.elt.id !== "booking-day") return;
    mark();
    show();
  });
  mark();
  show();
})();
