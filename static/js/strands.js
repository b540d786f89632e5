/*
 * Recolour a drawn strand: the same arithmetic as salon/drawing/colour.py (sRGB, D65, CIE L*a*b*)
 * and salon/drawing/coverage.py (the mean of what is drawn), so that script and server draw alike.
 */
(function () {
  "use strict";
  const ROUNDS = 4;
  const WHITE = [0.95047, 1.0, 1.08883];
  const TO_XYZ = [
    [0.4124564, 0.3575761, 0.1804375],
    [0.2126729, 0.7151522, 0.072175],
    [0.0193339, 0.119192, 0.9503041],
  ];
  const TO_RGB = [
    [3.2404542, -1.5371385, -0.4985314],
    [-0.969266, 1.8760108, 0.041556],
    [0.0556434, -0.2040259, 1.0572252],
  ];
  const times = (matrix, v) => matrix.map((row) => row[0] * v[0] + row[1] * v[1] + row[2] * v[2]);
  const linear = (c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
  const gamma = (c) => (c <= 0.0031308 ? 12.92 * c : 1.055 * c ** (1 / 2.4) - 0.055);
  const f = (t) => (t > 216 / 24389 ? Math.cbrt(t) : ((24389 / 27) * t + 16) / 116);
  const fInverse = (v) => (v > 6 / 29 ? v ** 3 : ((116 * v - 16) * 27) / 24389);

  function linearToLab(rgb) {
    const [x, y, z] = times(TO_XYZ, rgb).map((v, i) => f(v / WHITE[i]));
    return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
  }

  function labToLinear([l, a, b]) {
    const y = (l + 16) / 116;
    const xyz = [y + a / 500, y, y - b / 200].map((v, i) => fInverse(v) * WHITE[i]);
    return times(TO_RGB, xyz).map((c) => Math.min(1, Math.max(0, c)));
  }

  const hexToLab = (hex) =>
    linearToLab([1, 3, 5].map((i) => linear(parseInt(hex.slice(i, i + 2), 16) / 255)));
  const labToHex = (lab) =>
    "#" +
    labToLinear(lab)
      .map((c) =>
        Math.round(255 * gamma(c))
          .toString(16)
          .padStart(2, "0"),
      )
      .join("");

  function shifted(lab, by) {
    const l = Math.min(100, Math.max(0, lab[0] + by));
    const keep = by > 0 ? 1 - Math.min(0.5, by / 80) : l / Math.max(lab[0], 1);
    return [l, lab[1] * keep, lab[2] * keep];
  }

  const roomOf = (lab) => Math.min(1, 0.25 + lab[0] / 45, 0.15 + (100 - lab[0]) / 30);

  /* The colour that the tones are taken from so that the mean of all, as light, is `wanted`. */
  function centred(wanted, tones, room) {
    const goal = labToLinear(wanted);
    let base = wanted;
    for (let round = 0; round < ROUNDS; round += 1) {
      const moved = labToLinear(base).map((c, k) => c + goal[k]);
      for (const [tone, share] of tones) {
        const rgb = labToLinear(shifted(base, tone * room));
        for (let k = 0; k < 3; k += 1) moved[k] -= share * rgb[k];
      }
      base = linearToLab(moved.map((c) => Math.min(1, Math.max(0, c))));
    }
    return base;
  }

  function recolour(svg, hex) {
    const lab = hexToLab(hex);
    const room = roomOf(lab);
    const fill = svg.querySelector("[data-fill]");
    const hairs = svg.querySelectorAll("[data-shift]");
    const tones = new Map([[0, Number(fill.dataset.share)]]);
    for (const hair of hairs) tones.set(Number(hair.dataset.shift), Number(hair.dataset.share));
    const base = centred(lab, tones, room);
    svg.dataset.strand = hex;
    fill.setAttribute("fill", labToHex(base));
    for (const hair of hairs) {
      hair.setAttribute("stroke", labToHex(shifted(base, Number(hair.dataset.shift) * room)));
    }
  }

  const parts = new WeakMap(); // a portrait's gradients are looked for once, not at every move

  function byZone(stops) {
    const found = {};
    for (const stop of stops) (found[stop.dataset.zone] ||= []).push(stop);
    return found;
  }

  function partsOf(svg) {
    if (!parts.has(svg)) {
      const gradients = [...svg.querySelectorAll("[data-tone]")].map((gradient) => ({
        tone: Number(gradient.dataset.tone),
        share: Number(gradient.dataset.share),
        stops: byZone([...gradient.children]),
      }));
      parts.set(svg, { gradients, tones: gradients.map(({ tone, share }) => [tone, share]) });
    }
    return parts.get(svg);
  }

  /* A portrait: every gradient is one tone, every stop a zone; `colours` are L*a*b* by zone. */
  function recolourHead(svg, colours) {
    const { gradients, tones } = partsOf(svg);
    const known = new Map(); // zones of one colour are worked out once
    for (const [zone, lab] of Object.entries(colours)) {
      const key = lab.join();
      if (!known.has(key)) {
        const room = roomOf(lab);
        const base = centred(lab, tones, room);
        known.set(
          key,
          gradients.map(({ tone }) => labToHex(shifted(base, tone * room))),
        );
      }
      known.get(key).forEach((colour, n) => {
        for (const stop of gradients[n].stops[zone] || []) stop.setAttribute("stop-color", colour);
      });
    }
  }

  window.strands = { recolour, recolourHead, hexToLab };
})();
