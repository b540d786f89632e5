/*
 * Strands to compare the hair with: they follow the zone's lifted level, the nearest to the
 * slider is marked, and a press on one moves the slider there.
 */
(function () {
  "use strict";
  const island = document.getElementById("undertone-strands");
  if (!island) return;
  const data = JSON.parse(island.textContent);

  function levelKey(value) {
    const level = Math.min(10, Math.max(1, Number(String(value).replace(",", ".")) || 1));
    return (Math.round(level * 2) / 2).toFixed(1);
  }

  function draw(zone) {
    const box = zone.querySelector("[data-undertone]");
    const level = zone.querySelector("[name$='lifted_level']");
    const slider = box.querySelector("input[type='range']");
    const colours = data.levels[levelKey(level.value)];
    const value = Number(slider.value);
    const words = value < -0.05 ? box.dataset.orange : value > 0.05 ? box.dataset.golden : box.dataset.chart;
    let nearest = 0;
    data.undertones.forEach((place, i) => {
      if (Math.abs(place - value) < Math.abs(data.undertones[nearest] - value)) nearest = i;
    });
    box.querySelectorAll("[data-place]").forEach((button, i) => {
      window.strands.recolour(button.querySelector("svg"), colours[i]);
      button.classList.toggle("is-nearest", i === nearest);
    });
    if (words) slider.setAttribute("aria-valuetext", words);
  }

  function mount(zone) {
    if (zone.dataset.live || !zone.querySelector("[data-undertone]")) return;
    zone.dataset.live = "yes";
    zone.addEventListener("input", () => draw(zone));
    zone.addEventListener("click", (event) => {
      const button = event.target.closest("[data-place]");
      if (!button) return;
      const slider = zone.querySelector("[data-undertone] input[type='range']");
      slider.value = button.dataset.place;
      slider.dispatchEvent(new Event("input", { bubbles: true }));
      slider.focus({ preventScroll: true });
    });
    draw(zone);
  }

  function mountAll() {
    for (const zone of document.querySelectorAll("[data-zone]")) mount(zone);
  }
  mountAll();
  document.addEventListener("htmx:load", mountAll);
})();
