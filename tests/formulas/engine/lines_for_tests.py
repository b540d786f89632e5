"""Lines and zones that several engine tests share."""

from dataclasses import replace

import numpy as np

from formulas import engine

LINE = engine.demo_lines()["Tidepool"]
OTHER = engine.demo_lines()["Slatecliff"]
SMALL = replace(LINE, shades=LINE.shades[20:29])
_MORE = (
    "4 natural", "5 strong blue", "6 strong violet-blue", "5 beige", "6 beige", "7 beige",
    "8 beige", "5 green", "6 green", "7 green",
)  # fmt: skip


def sixty() -> engine.Line:
    """Return a line of sixty shades."""
    more = [engine.Shade.from_words(name) for name in _MORE if name not in LINE.names]
    return replace(LINE, shades=(LINE.shades + tuple(more))[:60])


def measured_at(curve: engine.LimitCurve, warmth: float | np.ndarray) -> np.ndarray:
    """Return the limit's least depth by L* at a warmth, between its points."""
    points = curve.warmth_left_percent[::-1], curve.levels_deeper_measured[::-1]
    return np.asarray(np.interp(warmth, *points))
