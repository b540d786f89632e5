"""A zone of lightened hair, from the stylist's reading to K/S."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from formulas.engine import checks
from formulas.engine.chart import UNDERTONE_TURN_DEG, Chart
from formulas.engine.grid import Array
from formulas.engine.kubelka_munk import to_ks, to_reflectance
from formulas.engine.shades import white_hair_ks

if TYPE_CHECKING:
    from formulas.engine.lines import Line

# Hue angles of the trade's words for exposed warmth (model assumption, from the chart).
UNDERTONE_WORDS: Mapping[str, float] = {
    "red-orange": 50.0,
    "orange": 59.0,
    "yellow-orange": 71.0,
    "gold": 77.0,
    "yellow": 82.0,
    "pale yellow": 88.0,
}


@dataclass(frozen=True)
class Residual:
    """Toner still present from the last visit.

    Attributes
    ----------
    line : Line
    parts : mapping of shade name to parts
    minutes : float or None
        How long it processed; None for the line's own time. [min]
    washes : float
        Washes since. [count]
    """

    line: "Line"
    parts: Mapping[str, float]
    minutes: float | None = None
    washes: float = 0.0


@dataclass(frozen=True)
class Zone:
    """One zone as the stylist reads it.

    Attributes
    ----------
    lifted_level : float
        1 to 10. [level]
    undertone : float
        -1 (more orange) .. 0 (the chart's own) .. +1 (more golden). [unitless]
    white_percent : float
        Share of white fibres, 0 to 100. [%]
    porosity : float
        -1 (low) .. 0 (normal) .. +1 (high). [unitless]
    residual : Residual or None
    """

    lifted_level: float
    undertone: float = 0.0
    white_percent: float = 0.0
    porosity: float = 0.0
    residual: Residual | None = None

    def __post_init__(self) -> None:
        checks.number(self.lifted_level, name="lifted_level", unit="level", low=1, high=10)
        checks.number(self.undertone, name="undertone", unit="-1..1", low=-1, high=1)
        checks.number(self.white_percent, name="white_percent", unit="%", low=0, high=100)
        checks.number(self.porosity, name="porosity", unit="-1..1", low=-1, high=1)

    def hair_ks(self, chart: Chart) -> Array:
        """Return K/S of the hair alone, (31,): white and pigmented fibres side by side."""
        pigmented = chart.warmth_ks(self.lifted_level, self.undertone)
        if self.white_percent == 0:
            return pigmented
        share = self.white_percent / 100.0
        mixed = (1 - share) * to_reflectance(pigmented) + share * to_reflectance(
            white_hair_ks()
        )
        return to_ks(mixed)


def undertone_from_word(word: str, *, level: float, chart: Chart | None = None) -> float:
    """Return the undertone, -1..1, that a trade word means at a level.

    Raises
    ------
    ValueError
        If the word is not known; the message lists those that are.
    """
    key = word.strip().lower()
    if key not in UNDERTONE_WORDS:
        raise ValueError(f"undertone {word!r}: use one of {', '.join(UNDERTONE_WORDS)}")
    lab = (chart or Chart.default()).warmth_lab
    levels = np.arange(1.0, 10.01, 0.5)
    hue = np.degrees(np.arctan2(lab[:, 2], lab[:, 1]))
    own = float(np.interp(level, levels, hue))
    return float(np.clip((UNDERTONE_WORDS[key] - own) / UNDERTONE_TURN_DEG, -1.0, 1.0))
