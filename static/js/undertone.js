/*
 * Strands to compare the hair with: they follow the zone's lifted level, also where one zone
 * is the same as the one before it. A zone that is untouched follows as well.
 */
(function () {
  "use strict";
  const island = document.getElementById("undertone-strands");
  if (!island) return;
  const data = JSON.parse(island.textContent);

  function levelKey(value) {
    const level = Math.min(10, Math.max(1, Number(String(value).replace(",", ".")) || 6));
    return (Math.round(level * 2) / 2).toFixed(1);
  }

  /* A strand that an eye cannot tell from its neighbours is not offered, unless it is chosen. */
  function draw(zone) {
    const key = levelKey(zone.querySelector("[name$='lifted_level']").value);
    zone.querySelectorAll("[data-undertone] [data-place]").forEach((label, i) => {
      window.strands.recolour(label.querySelector("svg"), data.levels[key][i]);
      label.hidden = !data.apart[key][i] && !label.querySelector("input").checked;
    });
  }

  /* "Same as" taken off: the zone opens with what is above it now, not with what was saved. */
  function copyFrom(above, zone) {
    for (const input of zone.querySelectorAll(".zone__read input")) {
      const [, name] = input.name.split(/-(.*)/);
      const own = `[name="${above.dataset.zone}-${name}"]`;
      if (input.type === "radio") {
        const picked = above.querySelector(`${own}:checked`);
        input.checked = Boolean(picked) && sameRadio(input, picked);
      } else {
        input.value = above.querySelector(own).value;
      }
      input.dispatchEvent(new Event("input", { bubbles: true }));
    }
  }

  function sameRadio(input, picked) {
    const place = (one) =>
      [...one.closest("fieldset, .field").querySelectorAll("input")].indexOf(one);
    return place(input) === place(picked);
  }

  /* The zone whose values count for this one: the next above that is not "same" itself. */
  function source(zone) {
    let above = zone.previousElementSibling;
    while (above?.querySelector(".zone__same input")?.checked) above = above.previousElementSibling;
    return above;
  }

  function mount(zone) {
    if (zone.dataset.live || !zone.querySelector("[data-undertone]")) return;
    zone.dataset.live = "yes";
    zone.addEventListener("input", () => draw(zone));
    const same = zone.querySelector(".zone__same input");
    same?.addEventListener("change", () => {
      if (!same.checked && source(zone)) copyFrom(source(zone), zone);
    });
    draw(zone);
  }

  function mountAll() {
    for (const zone of document.querySelectorAll("[data-zone]")) mount(zone);
  }
  mountAll();
  document.addEventListener("htmx:load", mountAll);
})();
