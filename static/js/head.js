/*
 * The client's head: one control for the whole of it. While it moves, colours between two
 * computed places are mixed in CIE L*a*b*; where it stops it settles on the nearest place, whose
 * mix was really computed. The slider is the form field and works without this script.
 */
(function () {
  "use strict";

  function mount(section) {
    if (section.dataset.live) return;
    const slider = section.querySelector("input[type='range']");
    const after = section.querySelector("[data-after] svg");
    const before = section.querySelector("[data-before] svg");
    if (!slider || !after) return;
    const data = JSON.parse(section.dataset.head);
    const places = data.places;
    if (!places.length) return;
    section.dataset.live = "yes";
    const form = section.closest("form");
    const tied = form?.querySelector("[data-tied]");
    const words = section.querySelectorAll("[data-head-sentence]");
    const press = section.querySelector("[data-damp-press]");
    const named = section.querySelector("[data-head-places]");
    const toLab = window.strands.hexToLab;
    for (const place of places) {
      place.lab = { hex: labs(place.hex), damp: labs(place.damp) };
    }
    const start = data.start && { hex: labs(data.start.hex), damp: labs(data.start.damp) };
    let isDamp = false;
    let frame = 0;
    let wanted = null;
    let shown = null;

    function labs(colours) {
      return Object.fromEntries(Object.entries(colours).map(([zone, hex]) => [zone, toLab(hex)]));
    }

    function nearest(warmth) {
      return places.reduce((best, place) =>
        Math.abs(place.warmth - warmth) < Math.abs(best.warmth - warmth) ? place : best,
      );
    }

    function between(warmth) {
      const name = isDamp ? "damp" : "hex";
      const next = places.findIndex((place) => place.warmth <= warmth);
      if (next === 0) return places[0].lab[name];
      if (next < 0) return places[places.length - 1].lab[name];
      const [warm, cool] = [places[next - 1], places[next]];
      const share = (warm.warmth - warmth) / (warm.warmth - cool.warmth || 1);
      return Object.fromEntries(
        Object.entries(warm.lab[name]).map(([zone, lab]) => [
          zone,
          lab.map((v, i) => v + share * (cool.lab[name][zone][i] - v)),
        ]),
      );
    }

    function say(place) {
      if (place === shown) return;
      shown = place;
      words.forEach((line, n) => (line.textContent = place.sentences[n]));
      slider.setAttribute("aria-valuetext", place.sentences.join(" "));
      markNamed(place);
      for (const row of form?.querySelectorAll("[data-head-part]") || []) {
        const mix = place.mixes[row.dataset.headPart];
        if (!mix) continue;
        for (const cell of row.querySelectorAll("[data-mix]"))
          cell.textContent = mix[cell.dataset.mix];
      }
    }

    function markNamed(place) {
      for (const button of named?.querySelectorAll("[data-to]") || []) {
        button.setAttribute("aria-pressed", String(button.dataset.to === place.key));
      }
    }

    function draw() {
      frame = 0;
      window.strands.recolourHead(after, between(wanted));
      say(nearest(wanted));
    }

    function show(warmth) {
      wanted = warmth;
      if (!frame) frame = requestAnimationFrame(draw);
    }

    function settle() {
      const place = nearest(Number(slider.value));
      slider.value = String(place.warmth);
      show(place.warmth);
      if (tied && !tied.checked) tie(true);
      section.dispatchEvent(new CustomEvent("head:place", { bubbles: true, detail: place }));
      follow(place);
    }

    // The charts of the parts stay where the head is: a part that is untied starts from there.
    let isFollowing = false;
    function follow(place) {
      isFollowing = true;
      for (const group of form?.querySelectorAll("[data-group]") || []) {
        const other = group.querySelector("[data-curve] input[type='range']");
        const aim = Math.round(place.aims[group.dataset.group]);
        if (!other || aim === Number(other.value)) continue;
        other.value = String(aim);
        other.dispatchEvent(new Event("input", { bubbles: true }));
      }
      isFollowing = false;
    }

    function tie(on) {
      if (!tied) return;
      tied.checked = on;
      section.classList.toggle("is-untied", !on);
    }

    slider.addEventListener("input", () => show(Number(slider.value)));
    slider.addEventListener("change", settle);
    slider.addEventListener("keydown", (event) => {
      const at = places.indexOf(nearest(Number(slider.value)));
      const to = {
        ArrowRight: at + 1,
        ArrowDown: at + 1,
        ArrowLeft: at - 1,
        ArrowUp: at - 1,
        PageDown: at + 4,
        PageUp: at - 4,
        Home: 0,
        End: places.length - 1,
      }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      slider.value = String(places[Math.min(places.length - 1, Math.max(0, to))].warmth);
      slider.dispatchEvent(new Event("change", { bubbles: true }));
    });

    if (named) {
      named.hidden = false;
      named.addEventListener("click", (event) => {
        const button = event.target.closest("[data-to]");
        const place = button && places.find((each) => each.key === button.dataset.to);
        if (!place) return;
        slider.value = String(place.warmth);
        slider.dispatchEvent(new Event("change", { bubbles: true }));
      });
    }

    if (press) {
      press.hidden = false;
      press.addEventListener("click", () => {
        isDamp = !isDamp;
        press.setAttribute("aria-pressed", String(isDamp));
        if (start && before) window.strands.recolourHead(before, start[isDamp ? "damp" : "hex"]);
        show(wanted ?? Number(slider.value));
      });
    }

    // A part that is moved by itself leaves the whole; the head shows it.
    form?.addEventListener("curve:place", (event) => {
      if (isFollowing || !section.dataset.ready || !event.target.closest("[data-group]")) return;
      if (data.single) {
        const place = nearest(event.detail.warmth);
        if (place === nearest(Number(slider.value))) return;
        slider.value = String(place.warmth);
        show(place.warmth);
        return;
      }
      tie(false);
      const colours = {};
      for (const group of form.querySelectorAll("[data-group]")) {
        const hex = group.querySelector("[data-dry] svg")?.dataset.strand;
        for (const zone of hex ? group.dataset.group.split(",") : []) colours[zone] = toLab(hex);
      }
      window.strands.recolourHead(after, colours);
    });
    tied?.addEventListener("change", () => {
      tie(tied.checked);
      if (tied.checked) settle();
    });
    if (!tied || tied.checked) show(Number(slider.value));
    setTimeout(() => (section.dataset.ready = "yes"), 0);
  }

  const mountAll = (root) => {
    if (root.matches?.("[data-head]")) mount(root);
    for (const section of root.querySelectorAll("[data-head]")) mount(section);
  };
  mountAll(document);
  document.addEventListener("htmx:load", (event) => mountAll(event.detail.elt));
})();
