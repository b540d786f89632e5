"""Draw one head of hair from behind, in three zones: roots, mid-lengths, ends.

A zone without a colour is drawn hatched: not read yet, never an invented colour.
"""

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from django.utils.safestring import SafeString

from salon.drawing.colour import hex_to_lab, shifted
from salon.drawing.markup import Text, drawing, path, text
from salon.drawing.strand import room

MIDDLE = 200.0
ZONES = ("roots", "mid_lengths", "ends")
BORDERS = {"roots": (0.0, 0.27), "mid_lengths": (0.27, 0.68), "ends": (0.68, 1.0)}
LABEL_AT = {"roots": 58.0, "mid_lengths": 168.0, "ends": 272.0}
TONES = (-10.0, -5.0, -2.0, 3.0, 6.0, 9.0)
HAIRS = 84
DOME, RADIUS = 0.4, 92.0  # how far the hair lies on the head, and the head


@dataclass(frozen=True)
class DrawnZone:
    """A zone's outline; its hairs by tone, or a hatch where it is not read yet."""

    zone: str
    colour: str
    outline: str
    hairs: tuple[tuple[str, str, str], ...] = ()  # shift, colour, path
    hatch: str = ""


@dataclass(frozen=True)
class Label:
    """A zone's name and note, with a line that leads to the hair."""

    words: Text
    note: Text | None
    lead: str
    x: str
    y: str


def head_svg(
    colours: Mapping[str, str],
    *,
    labels: Mapping[str, str],
    notes: Mapping[str, str],
    title: str,
) -> SafeString:
    """Return the head as `<svg>`; `colours` by zone, absent or empty where not read yet."""
    return drawing(
        "head",
        title=title,
        zones=[_zone(zone, colours.get(zone) or "") for zone in ZONES],
        borders=[_border(BORDERS[zone][1]) for zone in ZONES[:-1]],
        labels=[
            _label(zone, labels[zone], notes.get(zone, ""), right=i % 2 == 0)
            for i, zone in enumerate(ZONES)
        ],
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
    return path(at(u, start + (end - start) * k / steps) for k in range(steps + 1))


def outline(start: float, end: float) -> str:
    down = [at(-1, start + (end - start) * k / 14) for k in range(15)]
    across = [at(-1 + 2 * k / 14, end) for k in range(1, 15)]
    up = [at(1, end + (start - end) * k / 14) for k in range(15)]
    back = [at(1 - 2 * k / 14, start) for k in range(1, 14)]
    return path(down + across + up + back) + "Z"


def _zone(zone: str, colour: str) -> DrawnZone:
    start, end = BORDERS[zone]
    edge = outline(start, end)
    if not colour:
        hatch = "".join(run(-1 + k / 8, start, end) for k in range(17))
        return DrawnZone(zone, "", edge, hatch=hatch)
    lab = hex_to_lab(colour)
    reach = room(lab[0])
    by_tone: dict[float, list[str]] = {}
    for u, tone in _hairs():
        tip = 0.02 * math.sin(41 * u) if end == 1.0 else 0.0
        by_tone.setdefault(tone, []).append(run(u, start, end + tip))
    hairs = tuple(
        (f"{tone:g}", shifted(lab, tone * reach), "".join(runs))
        for tone, runs in sorted(by_tone.items())
    )
    return DrawnZone(zone, colour, edge, hairs)


def _border(t: float) -> str:
    return path(at(-1 + 2 * k / 16, t) for k in range(17))


def _label(zone: str, label: str, note: str, *, right: bool) -> Label:
    y = LABEL_AT[zone]
    x, anchor = (312.0, "start") if right else (88.0, "end")
    start, end = BORDERS[zone]
    to_x, to_y = at(0.72 if right else -0.72, (start + end) / 2)
    edge = x - 8 if right else x + 8
    return Label(
        words=text(x, y, label, anchor=anchor),
        note=text(x, y + 19, note, anchor=anchor) if note else None,
        lead=f"M{edge:g} {y - 5:g}L{to_x:.0f} {to_y:.0f}",
        x=f"{to_x:.0f}",
        y=f"{to_y:.0f}",
    )
