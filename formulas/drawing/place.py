"""Where a hand-set mix lies between what the shelf reaches and the line no mix can cross."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from formulas.drawing.frame import Frame, ticks
from formulas.snapshots import Mix, Range
from salon.drawing.markup import Text, path, text


@dataclass(frozen=True)
class Beyond:
    """The region that no mix reaches, and the plate with the words in it."""

    d: str
    plate: Mapping[str, str]
    words: str


@dataclass(frozen=True)
class This:
    """This mix: its place, its colour, its range as a cross, its name."""

    x: str
    y: str
    hex: str
    cross: str
    name: Text


def place_svg(
    *,
    limit: Sequence[Sequence[float]],
    mixes: Sequence[Mix],
    warmth: Range,
    deeper: Range,
    hex_colour: str,
) -> SafeString:
    """Return the trade-off with this mix in it, its range as a cross."""
    coolest = min([warmth["value"]] + [w for w, _d in limit])
    coolest = 20.0 * math.floor(coolest / 20.0)
    shown = [
        (m["warmth_left_percent"], m["levels_deeper_looks"])
        for m in mixes
        if m["warmth_left_percent"] >= coolest
    ]
    warmest = max(100.0, 20.0 * math.ceil(warmth["value"] / 20.0))
    deepest = max([2.0, deeper["high"]] + [d for _w, d in [*limit, *shown]])
    frame = Frame(
        warmest, coolest, 0.0, math.ceil(deepest * 2) / 2, width=620, height=404,
        left=56, right=594, top=46, bottom=334, down=True,
    )  # fmt: skip
    depths = ticks(0, frame.y_high, 0.5 if frame.y_high <= 3 else 1.0, places=1)
    warmths = [(w, words + " %") for w, words in ticks(coolest, warmest, 20)]
    return frame.drawing(
        "place",
        title=_("Warmth left against depth: the limit, the best mixes in stock, and this mix"),
        beyond=_beyond(frame, limit),
        y_axis=frame.y_axis(depths),
        x_axis=frame.x_axis(warmths, name=_("warmth left")),
        heading=text(12, 24, _("levels deeper"), bold=True),
        limit=frame.line([(w, d) for w, d in limit], dash="", width=4),
        reached=[(f"{frame.x(w):.1f}", f"{frame.y(d):.1f}") for w, d in shown],
        this=_this(frame, warmth, deeper, hex_colour),
    )


def _beyond(frame: Frame, limit: Sequence[Sequence[float]]) -> Beyond:
    points = [(frame.x(w), frame.y(d)) for w, d in limit]
    region = [*points, (points[-1][0], frame.top), (points[0][0], frame.top)]
    words = _("No mix can be here")
    width = 8.4 * len(words) + 20
    x = frame.right - width - 8
    plate = {
        "x": f"{x:.0f}",
        "y": f"{frame.top + 8:g}",
        "width": f"{width:.0f}",
        "middle": f"{x + width / 2:.0f}",
        "base": f"{frame.top + 27:g}",
    }
    return Beyond(path(region) + "Z", plate, words)


def _this(frame: Frame, warmth: Range, deeper: Range, hex_colour: str) -> This:
    x, y = frame.x(warmth["value"]), frame.y(deeper["value"])

    def across(value: float) -> float:
        return min(frame.right, max(frame.left, frame.x(value)))

    anchor = "start" if x < frame.left + 90 else "end"
    shift = 20 if anchor == "start" else -20
    cross = (
        f"M{across(warmth['high']):.1f} {y:.1f}H{across(warmth['low']):.1f}"
        f"M{x:.1f} {frame.y(deeper['low']):.1f}V{frame.y(deeper['high']):.1f}"
    )
    name = text(x + shift, y + 30, _("this mix"), anchor=anchor, bold=True)
    return This(f"{x:.1f}", f"{y:.1f}", hex_colour, cross, name)
