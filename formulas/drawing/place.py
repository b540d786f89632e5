"""Where a hand-set mix lies between what the shelf reaches and the line no mix can cross."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.html import escape
from django.utils.translation import gettext as _

from formulas.drawing.frame import INK, MID, PAPER, Frame, text, ticks

Ranged = Mapping[str, float]


def place_svg(
    *,
    limit: Sequence[Sequence[float]],
    mixes: Sequence[Mapping[str, Any]],
    warmth: Ranged,
    deeper: Ranged,
    hex_colour: str,
) -> str:
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
    inner = (
        _beyond(frame, limit)
        + frame.y_axis(ticks(0, frame.y_high, 0.5 if frame.y_high <= 3 else 1.0, places=1))
        + frame.x_axis(
            [(w, words + " %") for w, words in ticks(coolest, warmest, 20)],
            name=_("warmth left"),
        )
        + text(12, 24, _("levels deeper"), bold=True)
        + frame.line([(w, d) for w, d in limit], dash="", width=4)
        + _reached(frame, shown)
        + _this(frame, warmth, deeper, hex_colour)
    )
    return frame.svg(
        inner,
        title=_("Warmth left against depth: the limit, the best mixes in stock, and this mix"),
    )


def _beyond(frame: Frame, limit: Sequence[Sequence[float]]) -> str:
    """Return the region that no mix reaches, hatched, with the words in it."""
    points = [(frame.x(w), frame.y(d)) for w, d in limit]
    region = [*points, (points[-1][0], frame.top), (points[0][0], frame.top)]
    d = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in region) + "Z"
    words = _("No mix can be here")
    plate = 8.4 * len(words) + 20
    x = frame.right - plate - 8
    return (
        '<defs><pattern id="beyond-this" width="9" height="9" patternUnits="userSpaceOnUse"'
        f' patternTransform="rotate(45)"><path d="M0 0V9" stroke="{MID}" stroke-width="2"/>'
        f'</pattern></defs><path d="{d}" fill="url(#beyond-this)"/>'
        f'<rect x="{x:.0f}" y="{frame.top + 8:g}" width="{plate:.0f}" height="28"'
        f' fill="{INK}"/>'
        f'<text x="{x + plate / 2:.0f}" y="{frame.top + 27:g}" text-anchor="middle"'
        f' fill="{PAPER}">{escape(words)}</text>'
    )


def _reached(frame: Frame, mixes: Sequence[tuple[float, float]]) -> str:
    """Return the shelf's frontier as small rings."""
    return "".join(
        f'<circle cx="{frame.x(warmth):.1f}" cy="{frame.y(deeper):.1f}" r="4"'
        f' stroke="{INK}" stroke-width="1.5" fill="{PAPER}"/>'
        for warmth, deeper in mixes
    )


def _this(frame: Frame, warmth: Ranged, deeper: Ranged, hex_colour: str) -> str:
    """Return this mix: its colour, its range, its name."""
    x, y = frame.x(warmth["value"]), frame.y(deeper["value"])

    def across(value: float) -> float:
        return min(frame.right, max(frame.left, frame.x(value)))

    anchor = "start" if x < frame.left + 90 else "end"
    shift = 20 if anchor == "start" else -20
    cross = (
        f"M{across(warmth['high']):.1f} {y:.1f}H{across(warmth['low']):.1f}"
        f"M{x:.1f} {frame.y(deeper['low']):.1f}V{frame.y(deeper['high']):.1f}"
    )
    return (
        f'<path d="{cross}" stroke="{PAPER}" stroke-width="6"/>'
        f'<path d="{cross}" stroke="{INK}" stroke-width="2.5"/>'
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="13" fill="{escape(hex_colour)}" stroke="{INK}"'
        f' stroke-width="3"/>{text(x + shift, y + 30, _("this mix"), anchor=anchor, bold=True)}'
    )
