"""Draw one colour as a lock of hair.

Over the lock's fill lie single hairs, lighter and darker, so that the mean of what is drawn is
the colour (see `coverage`) and two locks compare as their colours do. Damp hair
clings together: fewer, thicker clumps with gaps at the tips, and narrow bright reflections.
The colour passed in is the one drawn: for damp hair pass the damp colour.
"""

import math
import random
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

from django.utils.safestring import SafeString

from salon.drawing.colour import hex_to_lab, lab_to_hex, shifted
from salon.drawing.coverage import Layer, centred, shares
from salon.drawing.markup import drawing
from salon.drawing.paths import relative

WIDTH, HEIGHT = 120.0, 168.0
TOP = 10.0  # below the clip that holds the lock
HAIRS = {"s": 26, "m": 46, "l": 78}
CLUMPS = 6
DRY_TONES = (-12.0, -8.0, -4.0, 3.0, 6.0, 10.0)
DAMP_TONES = (-8.0, -4.0, 2.0, 5.0)
DRY_SHINE, DAMP_SHINE, GAP = 12.0, 36.0, -22.0


@dataclass(frozen=True)
class Stroke:
    """Hairs of one tone: `shift` in L*, `width` and `d` for SVG, `area` they cover."""

    shift: float
    width: float
    d: str
    area: float


@dataclass(frozen=True)
class Toned:
    """Hairs of one tone in their colour, as text for a drawing."""

    shift: str
    share: str
    colour: str
    width: str
    d: str


@lru_cache(maxsize=512)
def strand_svg(
    colour: str, *, damp: bool = False, size: str = "m", label: str = ""
) -> SafeString:
    """Return the lock as `<svg>`; `label` is its text for screen readers, empty to hide it."""
    lab = hex_to_lab(colour)
    reach = room(lab[0])
    strokes, tones = drawn(size, damp=damp)
    base = centred(lab, tones, room=reach)
    return drawing(
        "strand",
        colour=colour,
        base=lab_to_hex(base),
        base_share=f"{tones[0.0]:.4f}",
        damp=damp,
        size=size,
        label=label,
        hairs=[
            Toned(
                f"{s.shift:.2f}",
                f"{tones[s.shift]:.4f}",
                shifted(base, s.shift * reach),
                f"{s.width:g}",
                relative(s.d),
            )
            for s in strokes
        ],
        outline=relative(silhouette(damp=damp)),
    )


@lru_cache(maxsize=8)
def drawn(size: str, *, damp: bool) -> tuple[list[Stroke], dict[float, float]]:
    """Return the hairs of a lock, and how much of the lock each tone covers."""
    strokes = [
        replace(s, shift=round(s.shift, 2))
        for s in balanced(hairs(HAIRS[size], damp=damp, seed=7))
    ]
    layers = [
        Layer(0.0, silhouette(damp=damp)),
        *(Layer(s.shift, s.d, s.width) for s in strokes),
    ]
    return strokes, shares(layers, width=WIDTH, height=HEIGHT)


def room(lightness: float) -> float:
    """Return how much of each tone there is room for, between black and white."""
    return min(1.0, 0.25 + lightness / 45, 0.15 + (100 - lightness) / 30)


def silhouette(*, damp: bool) -> str:
    """Return the outline: blunt at the clip, waved, one tip; damp hair has one per clump."""
    cuts = [k / CLUMPS for k in range(CLUMPS + 1)] if damp else [0.0, 1.0]
    outline = ""
    for near, far in pairwise(cuts):
        # a clump's own edges stay in it on the way down
        left, right = near + (1e-6 if damp else 0), far - (1e-6 if damp else 0)
        down = [_place(left, t / 14, damp=damp) for t in range(15)]
        up = [_place(right, t / 14, damp=damp) for t in range(14, -1, -1)]
        outline += "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in down + up) + "Z"
    return outline


def hairs(count: int, *, damp: bool, seed: int) -> list[Stroke]:
    """Return hairs, then gaps between clumps, then reflections, grouped by tone."""
    dice = random.Random(seed)  # noqa: S311 - a drawing, not a secret
    fine = min(1.0, 46 / count)
    found: dict[tuple[int, float, float], list[str]] = {}
    lengths: dict[tuple[int, float, float], float] = {}

    def lay(
        layer: int, tone: float, thick: float, *, u: float, run: tuple[float, float]
    ) -> None:
        key, (start, end) = (layer, tone, round(thick, 2)), run
        found.setdefault(key, []).append(_curve(u, start, end, damp=damp))
        lengths[key] = lengths.get(key, 0.0) + (end - start) * HEIGHT

    tones = DAMP_TONES if damp else DRY_TONES
    for i in range(count):
        u = (i + dice.uniform(0.2, 0.8)) / count
        rounded = -5.0 * abs(2 * u - 1) ** 3
        tone = min(tones, key=lambda t: abs(t - (dice.choice(tones) + rounded)))
        lay(0, tone, 1.9 * fine, u=u, run=(0.0, dice.uniform(0.95, 1.0)))
    if damp:
        for k in range(1, CLUMPS):
            lay(1, GAP, 1.3, u=k / CLUMPS - 0.004, run=(0.0, dice.uniform(0.6, 0.72)))
    for i in range(count // (2 if damp else 1)):
        u = min(0.95, max(0.05, dice.gauss(0.46, 0.2)))
        if damp:  # on the crown of a clump
            u = (math.floor(u * CLUMPS) + dice.uniform(0.3, 0.55)) / CLUMPS
        middle = 0.30 + 0.05 * math.sin(i * 2.4) + 0.06 * (u - 0.5)
        half = dice.uniform(0.03, 0.09) if damp else dice.uniform(0.05, 0.14)
        shine = DAMP_SHINE if damp else DRY_SHINE
        thick = (1.0 if damp else 0.9) * fine
        lay(2, shine if i % 3 else shine * 0.6, thick, u=u, run=(middle - half, middle + half))
        if i % 3 == 0:
            lay(2, shine * 0.6, thick, u=u, run=(0.68 - half * 0.8, 0.68 + half * 0.8))
    return [
        Stroke(
            tone, thick, "".join(found[layer, tone, thick]), lengths[layer, tone, thick] * thick
        )
        for layer, tone, thick in sorted(found)
    ]


def balanced(strokes: list[Stroke]) -> list[Stroke]:
    """Scale the dark tones so that dark and light cancel out over the lock."""
    light = sum(s.shift * s.area for s in strokes if s.shift > 0)
    dark = -sum(s.shift * s.area for s in strokes if s.shift < 0)
    k = light / dark if dark else 1.0
    return [
        Stroke(s.shift * k if s.shift < 0 else s.shift, s.width, s.d, s.area) for s in strokes
    ]


def _place(u: float, t: float, *, damp: bool) -> tuple[float, float]:
    """Return the point at `u` across the lock and `t` down its length."""
    centre = WIDTH / 2 + 7.5 * math.sin(2.1 * math.pi * t + 0.4) * t
    body = 0.80 + 0.10 * math.sin(math.pi * min(1.0, t * 1.15))
    tip = max(0.0, t - 0.5) / 0.5
    body *= 1 - 0.5 * tip**2.2
    drop = 0.0
    if damp:
        body *= 0.92
        clump = min(CLUMPS - 1, math.floor(u * CLUMPS))
        middle = (clump + 0.5) / CLUMPS
        u = middle + (u - middle) * (1 - 0.8 * tip**1.4)
        drop = (0, 5, -3, 3, -5, 1)[clump] * tip
    across = u - 0.5
    sag = 5 * (1 - (2 * across) ** 2) * t  # the middle hangs lowest
    return centre + across * body * WIDTH, TOP + t * (HEIGHT - TOP - 12) + sag + drop


def _curve(u: float, start: float, end: float, *, damp: bool) -> str:
    """Return one hair as a smooth path through four points of its length."""
    p = [_place(u, start + (end - start) * k / 6, damp=damp) for k in range(7)]
    parts = [f"M{p[0][0]:.1f} {p[0][1]:.1f}"]
    for i in (1, 3, 5):  # a quadratic through p[i] to p[i + 1]
        cx = 2 * p[i][0] - (p[i - 1][0] + p[i + 1][0]) / 2
        cy = 2 * p[i][1] - (p[i - 1][1] + p[i + 1][1]) / 2
        parts.append(f"Q{cx:.1f} {cy:.1f} {p[i + 1][0]:.1f} {p[i + 1][1]:.1f}")
    return "".join(parts)
