/*
 * The client's place on the trade-off: dragged in the plot, moved by the slider below it (which
 * is the form field and works without this script), or set by one of the named places.
 */
(function () {
  "use strict";

  function mount(section) {
    if (section.dataset.live) return;
    const plot = section.querySelector("[data-plot]");
    const slider = section.querySelector("input[type='range']");
    if (!plot || !slider) return;
    const data = JSON.parse(section.dataset.island);
    if (!data.mixes.length) return;
    section.dataset.live = "yes";
    plot.classList.add("is-live");

    const mark = plot.querySelector("[data-chosen]");
    const places = section.querySelector("[data-places]");
    const warmest = data.mixes[0].warmth;
    const coolest = data.mixes[data.mixes.length - 1].warmth;
    let shown = null;

    function nearest(warmth) {
      let best = data.mixes[0];
      for (const mix of data.mixes) {
        if (Math.abs(mix.warmth - warmth) < Math.abs(best.warmth - warmth)) best = mix;
      }
      return best;
    }

    function press(mix) {
      for (const button of section.querySelectorAll("[data-to]")) {
        const place = data.places.find((p) => p.key === button.dataset.to);
        button.setAttribute("aria-pressed", String(nearest(place.warmth) === mix));
      }
    }

    function draw(mix) {
      press(mix);
      if (mix === shown) return;
      shown = mix;
      mark.setAttribute("visibility", "visible");
      mark.querySelector("[data-mark]").setAttribute("transform", `translate(${mix.x} ${mix.y})`);
      mark.querySelector("[data-colour]").setAttribute("fill", mix.hex);
      plot.querySelector("[data-range]").setAttribute("d", mix.range);
      plot
        .querySelector("[data-cross]")
        .setAttribute("d", `M${data.left} ${mix.y}H${mix.x}V${data.bottom}`);
      const dry = section.querySelector("[data-dry] svg");
      const damp = section.querySelector("[data-damp] svg");
      if (dry) window.strands.recolour(dry, mix.hex);
      if (damp) window.strands.recolour(damp, mix.damp);
      section.querySelector("[data-sentence]").textContent = mix.sentence;
      const label = section.querySelector("[data-label]");
      label.textContent = mix.label;
      label.hidden = !mix.label;
      section.querySelector("[data-why]").textContent = mix.why;
      section.querySelector("[data-cost]").textContent = mix.cost;
      slider.setAttribute("aria-valuetext", mix.sentence);
      plot.setAttribute("aria-label", mix.sentence);
      section.dispatchEvent(new CustomEvent("curve:place", { bubbles: true, detail: mix }));
    }

    function moveTo(warmth) {
      const within = Math.min(warmest, Math.max(coolest, warmth));
      slider.value = String(Math.round(within));
      draw(nearest(within));
    }

    slider.addEventListener("input", () => moveTo(Number(slider.value)));

    function warmthAt(event) {
      const box = plot.getScreenCTM().inverse();
      const x = new DOMPoint(event.clientX, event.clientY).matrixTransform(box).x;
      return (
        data.warmest - ((x - data.left) / (data.right - data.left)) * (data.warmest - data.coolest)
      );
    }

    let dragging = false;
    plot.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      dragging = true;
      plot.setPointerCapture(event.pointerId);
      slider.focus({ preventScroll: true });
      moveTo(warmthAt(event));
      event.preventDefault();
    });
    plot.addEventListener("pointermove", (event) => {
      if (dragging) moveTo(warmthAt(event));
    });
    for (const name of ["pointerup", "pointercancel"]) {
      plot.addEventListener(name, () => {
        if (dragging) slider.dispatchEvent(new Event("change", { bubbles: true }));
        dragging = false;
      });
    }

    if (places) {
      places.hidden = false;
      places.addEventListener("click", (event) => {
        const button = event.target.closest("[data-to]");
        if (!button) return;
        moveTo(data.places.find((p) => p.key === button.dataset.to).warmth);
        slider.dispatchEvent(new Event("change", { bubbles: true }));
      });
    }
    draw(nearest(data.chosen ?? Number(slider.value)));
  }

  function mountAll(root) {
    if (root.matches?.("[data-curve]")) mount(root);
    for (const section of root.querySelectorAll("[data-curve]")) mount(section);
  }
  mountAll(document);
  document.addEventListener("htmx:load", (event) => mountAll(event.detail.elt));
})();
