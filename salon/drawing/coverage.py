"""How much of a drawing each of its tones covers, so that the mean of a drawing is its colour.

Hairs overlap and the eye adds up light, not lightness: shifts that cancel out in L* leave the
mean lighter. So the share of each tone is counted on a raster of the drawing, and the colour
that the tones are taken from is moved until the mean of what is drawn, added up as light, is
the colour that was asked for.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from PIL import Image, ImageDraw

from salon.drawing.colour import Lab, lab_to_linear, linear_to_lab, shifted_lab

SCALE = 5
STEPS_OF_A_CURVE = 8
ROUNDS = 4
_COMMAND = re.compile(r"([MLQZ])([^MLQZ]*)")


@dataclass(frozen=True)
class Layer:
    """A part of a drawing: `tone` in L*, its path, and its width (0: it is filled)."""

    tone: float
    d: str
    width: float = 0.0


def shares(layers: Iterable[Layer], *, width: float, height: float) -> dict[float, float]:
    """Return the share of the drawing that each tone covers; they sum to 1.

    `width` and `height` are of the whole drawing, whose corner is at 0, 0; it holds at most 254
    tones.
    """
    tones: list[float] = []
    raster = Image.new("L", (round(width * SCALE), round(height * SCALE)))
    pen = ImageDraw.Draw(raster)
    for layer in layers:
        if layer.tone not in tones:
            tones.append(layer.tone)
        ink = tones.index(layer.tone) + 1
        for line in _lines(layer.d):
            if layer.width:
                pen.line(line, fill=ink, width=round(layer.width * SCALE), joint="curve")
            else:
                pen.polygon(line, fill=ink)
    counted = raster.histogram()[1 : len(tones) + 1]
    return {tone: count / sum(counted) for tone, count in zip(tones, counted, strict=True)}


def centred(wanted: Lab, tones: Mapping[float, float], *, room: float) -> Lab:
    """Return the colour that tones are taken from so that the mean of all is `wanted`.

    `tones` are shares by shift in L*; `room` is the part of each shift that is drawn.
    static/js/strands.js computes the same.
    """
    goal = lab_to_linear(wanted)
    base = wanted
    for _round in range(ROUNDS):
        drawn = [
            (share, lab_to_linear(shifted_lab(base, tone * room)))
            for tone, share in tones.items()
        ]
        now = lab_to_linear(base)
        moved = [
            min(1.0, max(0.0, now[k] + goal[k] - sum(share * rgb[k] for share, rgb in drawn)))
            for k in range(3)
        ]
        base = linear_to_lab((moved[0], moved[1], moved[2]))
    return base


def _lines(d: str) -> Iterable[list[tuple[float, float]]]:
    """Yield each run of a path of absolute M, L and Q as points of the raster."""
    line: list[tuple[float, float]] = []
    for command, numbers in _COMMAND.findall(d):
        at = [float(number) * SCALE for number in numbers.split()]
        if command == "M":
            if line:
                yield line
            line = [(at[0], at[1])]
        elif command == "L":
            line.append((at[0], at[1]))
        elif command == "Q":
            line += _curve(line[-1], (at[0], at[1]), (at[2], at[3]))
    if line:
        yield line


def _curve(
    start: tuple[float, float], bend: tuple[float, float], end: tuple[float, float]
) -> list[tuple[float, float]]:
    """Return points of a quadratic curve after its start."""
    points = []
    for step in range(1, STEPS_OF_A_CURVE + 1):
        t = step / STEPS_OF_A_CURVE
        a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t**2
        points.append(
            (a * start[0] + b * bend[0] + c * end[0], a * start[1] + b * bend[1] + c * end[1])
        )
    return points
