/*
 * Recolour a drawn strand: the same arithmetic as salon/drawing/colour.py (sRGB, D65, CIE L*a*b*)
 * and salon/drawing/strand.py (room for tones), so that script and server draw alike.
 */
(function () {
  "use strict";
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

  function hexToLab(hex) {
    const rgb = [1, 3, 5].map((i) => linear(parseInt(hex.slice(i, i + 2), 16) / 255));
    const [x, y, z] = times(TO_XYZ, rgb).map((v, i) => f(v / WHITE[i]));
    return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
  }

  function labToHex([l, a, b]) {
    const y = (l + 16) / 116;
    const xyz = [y + a / 500, y, y - b / 200].map((v, i) => fInverse(v) * WHITE[i]);
    const bytes = times(TO_RGB, xyz).map((c) =>
      Math.round(255 * Math.min(1, Math.max(0, gamma(Math.max(0, c))))),
    );
    return "#" + bytes.map((c) => c.toString(16).padStart(2, "0")).join("");
  }

  function shifted(lab, by) {
    const l = Math.min(100, Math.max(0, lab[0] + by));
    const keep = by > 0 ? 1 - Math.min(0.5, by / 80) : l / Math.max(lab[0], 1);
    return labToHex([l, lab[1] * keep, lab[2] * keep]);
  }

  function recolour(svg, hex) {
    const lab = hexToLab(hex);
    const room = Math.min(1, 0.25 + lab[0] / 45, 0.15 + (100 - lab[0]) / 30);
    svg.dataset.strand = hex;
    svg.querySelector("[data-fill]").setAttribute("fill", hex);
    for (const hair of svg.querySelectorAll("[data-shift]")) {
      hair.setAttribute("stroke", shifted(lab, Number(hair.dataset.shift) * room));
    }
  }

  /* A portrait: every gradient is one tone, every stop a zone; `colours` are L*a*b* by zone. */
  function recolourHead(svg, colours) {
    for (const gradient of svg.querySelectorAll("[data-tone]")) {
      const tone = Number(gradient.dataset.tone);
      for (const stop of gradient.querySelectorAll("[data-zone]")) {
        const lab = colours[stop.dataset.zone];
        if (!lab) continue;
        const room = Math.min(1, 0.25 + lab[0] / 45, 0.15 + (100 - lab[0]) / 30);
        stop.setAttribute("stop-color", tone ? shifted(lab, tone * room) : labToHex(lab));
      }
    }
  }

  window.strands = { recolour, recolourHead, hexToLab };
})();
