"""Draw one colour as a lock of hair.

The lock is filled with the colour itself; over it lie single hairs, lighter and darker, whose
lightness cancels out over the lock, so that two locks compare as their colours do. Damp hair
clings together: fewer, thicker clumps with gaps at the tips, and narrow bright reflections.
The colour passed in is the one drawn: for damp hair pass the damp colour.
"""

import math
import random
from dataclasses import dataclass
from functools import lru_cache

from salon.drawing.colour import hex_to_lab, shifted

WIDTH, HEIGHT = 120.0, 168.0
HAIRS = {"s": 26, "m": 44, "l": 64}
DRY_TONES = (-13.0, -8.0, -4.0, 4.0, 8.0, 12.0)
DAMP_TONES = (-16.0, -9.0, -4.0, 3.0, 6.0)
DRY_SHINE, DAMP_SHINE = 13.0, 34.0


@dataclass(frozen=True)
class Stroke:
    """Hairs of one tone: `shift` in L*, `width` and `d` for SVG, `area` they cover."""

    shift: float
    width: float
    d: str
    area: float


@lru_cache(maxsize=512)
def strand_svg(colour: str, *, damp: bool = False, size: str = "m", label: str = "") -> str:
    """Return the lock as `<svg>`; `label` is its text for screen readers, empty to hide it."""
    lab = hex_to_lab(colour)
    reach = room(lab[0])
    strokes = balanced(hairs(HAIRS[size], damp=damp, seed=7))
    paths = "".join(
        f'<path data-shift="{s.shift:.2f}" stroke="{shifted(lab, s.shift * reach)}"'
        f' stroke-width="{s.width:g}" d="{s.d}"/>'
        for s in strokes
    )
    role = f'role="img" aria-label="{label}"' if label else 'aria-hidden="true"'
    kind = " strand--damp" if damp else ""
    return (
        f'<svg class="strand strand--{size}{kind}" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" {role}'
        f' data-strand="{colour}" fill="none" stroke-linecap="round">'
        f'<path data-fill="" fill="{colour}" d="{silhouette(damp=damp)}"/>{paths}</svg>'
    )


def room(lightness: float) -> float:
    """Return how much of each tone there is room for, between black and white."""
    return min(1.0, 0.25 + lightness / 45, 0.15 + (100 - lightness) / 30)


def silhouette(*, damp: bool) -> str:
    """Return the outline of the lock: a blunt top, a waved body, a tip."""
    left = [_place(0.0, t / 14, damp=damp) for t in range(15)]
    right = [_place(1.0, t / 14, damp=damp) for t in range(14, -1, -1)]
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in left + right) + "Z"


def hairs(count: int, *, damp: bool, seed: int) -> list[Stroke]:
    """Return single hairs and reflections, grouped by tone."""
    dice = random.Random(seed)  # noqa: S311 - a drawing, not a secret
    tones = DAMP_TONES if damp else DRY_TONES
    width = (3.0 if damp else 1.9) * 44 / count if count > 44 else (3.0 if damp else 1.9)
    found: dict[tuple[float, float], list[str]] = {}
    lengths: dict[tuple[float, float], float] = {}

    def lay(tone: float, thick: float, u: float, start: float, end: float) -> None:
        key = (tone, thick)
        found.setdefault(key, []).append(_curve(u, start, end, damp=damp))
        lengths[key] = lengths.get(key, 0.0) + (end - start) * HEIGHT

    for i in range(count):
        u = (i + dice.uniform(0.2, 0.8)) / count
        if damp:
            u = _clump(u, dice.uniform(0.35, 0.8))
        rounded = -5.0 * abs(2 * u - 1) ** 3
        tone = min(tones, key=lambda t: abs(t - (dice.choice(tones) + rounded)))
        lay(tone, round(width, 2), u, 0.0, dice.uniform(0.93, 1.0))
    for i in range(count // (3 if damp else 2)):
        u = min(0.93, max(0.07, dice.gauss(0.44, 0.2)))
        middle = 0.30 + 0.06 * math.sin(i * 2.4) + 0.05 * (u - 0.5)
        half = dice.uniform(0.03, 0.10) if damp else dice.uniform(0.05, 0.13)
        tone = DAMP_SHINE if damp else DRY_SHINE
        lay(tone, 1.1 if damp else 1.4, u, middle - half, middle + half)
        if i % 2:
            lay(tone * 0.7, 1.1 if damp else 1.4, u, 0.66 - half * 0.7, 0.66 + half * 0.7)
    return [
        Stroke(tone, thick, "".join(found[tone, thick]), lengths[tone, thick] * thick)
        for tone, thick in sorted(found)
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
    tip = max(0.0, t - 0.62) / 0.38
    body *= 1 - (0.74 if damp else 0.5) * tip**1.7
    if damp:
        body *= 0.9
    across = u - 0.5
    sag = 5 * (1 - (2 * across) ** 2) * t  # the middle hangs lowest
    return centre + across * body * WIDTH, 5 + t * (HEIGHT - 15) + sag


def _curve(u: float, start: float, end: float, *, damp: bool) -> str:
    """Return one hair as a smooth path through four points of its length."""
    p = [_place(u, start + (end - start) * k / 6, damp=damp) for k in range(7)]
    parts = [f"M{p[0][0]:.1f} {p[0][1]:.1f}"]
    for i in (1, 3, 5):  # a quadratic through p[i] to p[i + 1]
        cx = 2 * p[i][0] - (p[i - 1][0] + p[i + 1][0]) / 2
        cy = 2 * p[i][1] - (p[i - 1][1] + p[i + 1][1]) / 2
        parts.append(f"Q{cx:.1f} {cy:.1f} {p[i + 1][0]:.1f} {p[i + 1][1]:.1f}")
    return "".join(parts)


def _clump(u: float, pull: float) -> float:
    """Return `u` drawn towards the middle of its clump of damp hair."""
    clumps = 6
    middle = (math.floor(u * clumps) + 0.5) / clumps
    return u + (middle - u) * pull
