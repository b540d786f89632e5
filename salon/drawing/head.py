"""Draw one head of hair from behind, in three zones: roots, mid-lengths, ends.

A zone without a colour is drawn hatched: not read yet, never an invented colour.
"""

import math
import random
from collections.abc import Mapping
from functools import lru_cache

from django.utils.html import escape

from salon.drawing.colour import hex_to_lab, shifted
from salon.drawing.strand import room

WIDTH, HEIGHT = 400.0, 372.0
MIDDLE = 200.0
ZONES = ("roots", "mid_lengths", "ends")
BORDERS = {"roots": (0.0, 0.27), "mid_lengths": (0.27, 0.68), "ends": (0.68, 1.0)}
LABEL_AT = {"roots": 58.0, "mid_lengths": 168.0, "ends": 272.0}
TONES = (-10.0, -5.0, -2.0, 3.0, 6.0, 9.0)
HAIRS = 84
DOME, RADIUS = 0.4, 92.0  # how far the hair lies on the head, and the head
INK = "#0e0e0e"


def head_svg(
    colours: Mapping[str, str],
    *,
    labels: Mapping[str, str],
    notes: Mapping[str, str],
    title: str,
) -> str:
    """Return the head as `<svg>`; `colours` by zone, absent or empty where not read yet."""
    body = "".join(_zone(zone, colours.get(zone) or "") for zone in ZONES)
    texts = "".join(
        _label(zone, labels[zone], notes.get(zone, ""), right=i % 2 == 0)
        for i, zone in enumerate(ZONES)
    )
    return (
        f'<svg viewBox="-30 0 {WIDTH + 60:g} {HEIGHT:g}" role="img"'
        f' aria-label="{escape(title)}" fill="none" stroke-linecap="round">'
        f"{_figure()}{body}{_borders()}{texts}</svg>"
    )


def _figure() -> str:
    """Return shoulders and neck, in a grey a little darker than the booth."""
    return (
        '<path fill="#7c7c7c" d="M30 372C34 316 78 296 132 284C160 277 168 266 168 246H232'
        'C232 266 240 277 268 284C322 296 366 316 370 372Z"/>'
    )


def at(u: float, t: float) -> tuple[float, float]:
    """Return the point at `u` (-1 left, 1 right) and `t` (0 crown, 1 tip)."""
    angle = min(1.0, t / DOME) * math.pi / 2
    fallen = max(0.0, t - DOME) / (1 - DOME)
    across = math.sin(u * math.pi / 2)
    radius = RADIUS * math.sin(angle) + 9 * math.sin(math.pi * fallen * 0.8) - 13 * fallen**3
    tilt = 26 * math.sin(2 * angle) * (1 - u * u)  # seen a little from above
    sag = 22 * (1 - u * u) * fallen
    x = MIDDLE + radius * across + 4 * math.sin(5 * fallen + 2 * u) * fallen
    return x, 18 + RADIUS * 1.08 * (1 - math.cos(angle)) + 208 * fallen + tilt + sag


@lru_cache(maxsize=1)
def _hairs() -> list[tuple[float, float]]:
    dice = random.Random(11)  # noqa: S311 - a drawing, not a secret
    found = []
    for i in range(HAIRS):
        u = -1 + 2 * (i + dice.uniform(0.1, 0.9)) / HAIRS
        rounded = dice.choice(TONES) - 9 * abs(u) ** 4  # darker where it turns away
        _distance, tone = min((abs(tone - rounded), tone) for tone in TONES)
        found.append((u, tone))
    return found


def run(u: float, start: float, end: float) -> str:
    steps = max(3, round((end - start) * 16))
    points = [at(u, start + (end - start) * k / steps) for k in range(steps + 1)]
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def outline(start: float, end: float) -> str:
    down = [at(-1, start + (end - start) * k / 14) for k in range(15)]
    across = [at(-1 + 2 * k / 14, end) for k in range(1, 15)]
    up = [at(1, end + (start - end) * k / 14) for k in range(15)]
    back = [at(1 - 2 * k / 14, start) for k in range(1, 14)]
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in down + across + up + back) + "Z"


def _zone(zone: str, colour: str) -> str:
    start, end = BORDERS[zone]
    edge = outline(start, end)
    if not colour:
        hatch = "".join(run(-1 + k / 8, start, end) for k in range(17))
        return (
            f'<g data-zone="{zone}" data-read="no"><path fill="#ababab" d="{edge}"/>'
            f'<path stroke="{INK}" stroke-width="1" stroke-dasharray="3 5" d="{hatch}"/></g>'
        )
    lab = hex_to_lab(colour)
    reach = room(lab[0])
    by_tone: dict[float, list[str]] = {}
    for u, tone in _hairs():
        tip = 0.02 * math.sin(41 * u) if end == 1.0 else 0.0
        by_tone.setdefault(tone, []).append(run(u, start, end + tip))
    hairs = "".join(
        f'<path data-shift="{tone:g}" stroke="{shifted(lab, tone * reach)}"'
        f' stroke-width="1.5" d="{"".join(runs)}"/>'
        for tone, runs in sorted(by_tone.items())
    )
    return (
        f'<g data-zone="{zone}" data-strand="{escape(colour)}">'
        f'<path data-fill="" fill="{escape(colour)}" d="{edge}"/>{hairs}</g>'
    )


def _borders() -> str:
    """Return the lines between the zones: light over dark, seen on any hair."""
    lines = ""
    for t in (BORDERS["roots"][1], BORDERS["mid_lengths"][1]):
        points = [at(-1 + 2 * k / 16, t) for k in range(17)]
        d = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
        lines += (
            f'<path stroke="{INK}" stroke-width="3" d="{d}"/>'
            f'<path stroke="#f6f6f6" stroke-width="1.2" stroke-dasharray="5 4" d="{d}"/>'
        )
    return lines


def _label(zone: str, label: str, note: str, *, right: bool) -> str:
    y = LABEL_AT[zone]
    x, anchor = (312.0, "start") if right else (88.0, "end")
    start, end = BORDERS[zone]
    point = at(0.72 if right else -0.72, (start + end) / 2)
    edge = x - 8 if right else x + 8
    text = (
        f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}" fill="{INK}" font-size="17"'
        f' font-weight="650">{escape(label)}</text>'
    )
    if note:
        text += (
            f'<text x="{x:g}" y="{y + 19:g}" text-anchor="{anchor}" fill="{INK}"'
            f' font-size="15">{escape(note)}</text>'
        )
    return (
        f'<path stroke="{INK}" stroke-width="1.2" d="M{edge:g} {y - 5:g}L{point[0]:.0f}'
        f' {point[1]:.0f}"/><circle cx="{point[0]:.0f}" cy="{point[1]:.0f}" r="3.4"'
        f' fill="#f6f6f6" stroke="{INK}" stroke-width="1.4"/>{text}'
    )
