/*
 * A signature drawn with finger, pen or mouse. Strokes go as JSON, the picture as a PNG data URL,
 * each into its hidden field; both are empty until something is drawn. Typing a name instead
 * needs no script.
 */
(function () {
  "use strict";

  function mount(element) {
    if (element.dataset.live || !window.SignaturePad) return;
    element.dataset.live = "yes";
    const canvas = element.querySelector("canvas");
    const strokes = element.querySelector("[data-strokes]");
    const picture = element.querySelector("[data-picture]");
    const clear = element.querySelector("[data-clear]");
    const state = element.querySelector("[data-state-words]");
    const pad = new window.SignaturePad(canvas, {
      backgroundColor: "#ffffff",
      penColor: "#0e0e0e",
      minWidth: 0.9,
      maxWidth: 2.8,
    });

    function keep() {
      const empty = pad.isEmpty();
      strokes.value = empty ? "" : JSON.stringify(pad.toData());
      picture.value = empty ? "" : pad.toDataURL("image/png");
      clear.disabled = empty;
      if (state) state.textContent = empty ? state.dataset.empty : state.dataset.drawn;
    }

    function fit() {
      const ratio = Math.max(1, window.devicePixelRatio || 1);
      const box = canvas.getBoundingClientRect();
      if (!box.width || canvas.width === Math.round(box.width * ratio)) return;
      const drawn = pad.toData();
      canvas.width = Math.round(box.width * ratio);
      canvas.height = Math.round(box.height * ratio);
      canvas.getContext("2d").scale(ratio, ratio);
      pad.clear();
      if (drawn.length) pad.fromData(drawn);
      keep();
    }

    if (strokes.value) {
      try {
        const earlier = JSON.parse(strokes.value);
        fit();
        pad.fromData(earlier);
      } catch {
        strokes.value = "";
      }
    }
    fit();
    keep();
    pad.addEventListener("endStroke", keep);
    clear.addEventListener("click", () => {
      pad.clear();
      keep();
    });
    new ResizeObserver(fit).observe(canvas);
  }

  function mountAll(root) {
    if (root.matches?.("[data-signature]")) mount(root);
    for (const element of root.querySelectorAll("[data-signature]")) mount(element);
  }
  mountAll(document);
  document.addEventListener("htmx:load", (event) => mountAll(event.detail.elt));
})();
