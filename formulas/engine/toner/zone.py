"""A zone of lightened hair, from the stylist's reading to K/S."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine import checks
from formulas.engine.hair.chart import Chart
from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.toner.shades import white_hair_ks

if TYPE_CHECKING:
    from formulas.engine.toner.lines import Line

# Hue angles of the trade's words for exposed warmth (model assumption, from the chart).
UNDERTONE_WORDS: Mapping[str, float] = {
    "red-brown": 36.0,
    "red": 43.0,
    "red-orange": 50.0,
    "orange": 59.0,
    "yellow-orange": 70.5,
    "gold": 75.0,
    "yellow": 79.0,
    "pale yellow": 83.0,
}
SAME_UNDERTONE: Mapping[str, str] = {"golden": "gold", "orange-yellow": "yellow-orange"}


@dataclass(frozen=True)
class Residual:
    """Toner still present from the last visit.

    The zone's level and undertone are then those of the hair beneath it.

    Attributes
    ----------
    line : Line
    parts : mapping of shade name to parts
        Any positive numbers; only their proportion counts.
    minutes : float or None
        How long it processed, 0 to 180; None for the line's own time. [min]
    washes : float
        Washes since, 0 to 1000. [count]
    porosity : float or None
        Of the hair when it was laid on, -1 to 1; None: as the zone's now. [unitless]
    strengths : mapping of shade name to factor
        Learned strengths; 1 where a name is missing. [unitless]
    """

    line: "Line"
    parts: Mapping[str, float]
    minutes: float | None = None
    washes: float = 0.0
    porosity: float | None = None
    strengths: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.line.resolved(self.parts)
        if self.minutes is not None:
            checks.number(self.minutes, name="minutes of residual", unit="min", low=0, high=180)
        checks.number(self.washes, name="washes", unit="count", low=0, high=1000)
        if self.porosity is not None:
            checks.number(
                self.porosity, name="porosity of residual", unit="-1..1", low=-1, high=1
            )


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
    take : float
        How much of any toner this hair takes against the model, as earlier visits say, 0.3 to
        3. [unitless]
    natural_level : float or None
        1 to 10: from where it was lifted; None where nobody read it. [level]

    Raises
    ------
    ValueError
        If a number is out of range or not a number.
    """

    lifted_level: float
    undertone: float = 0.0
    white_percent: float = 0.0
    porosity: float = 0.0
    residual: Residual | None = None
    take: float = 1.0
    natural_level: float | None = None

    def __post_init__(self) -> None:
        checks.number(self.lifted_level, name="lifted_level", unit="level", low=1, high=10)
        if self.natural_level is not None:
            checks.number(
                self.natural_level, name="natural_level", unit="level", low=1, high=10
            )
        checks.number(self.undertone, name="undertone", unit="-1..1", low=-1, high=1)
        checks.number(self.white_percent, name="white_percent", unit="%", low=0, high=100)
        checks.number(self.porosity, name="porosity", unit="-1..1", low=-1, high=1)
        checks.number(self.take, name="take", unit="factor", low=0.3, high=3)

    def by_fibre(self, pigmented: ArrayLike, white: ArrayLike) -> Array:
        """Return one value or row for each kind of fibre there is, pigmented before white."""
        share = self.white_percent
        return np.stack([pigmented] * (share < 100) + [white] * (share > 0))

    def fibres(self, chart: Chart) -> tuple[Array, Array]:
        """Return share (k,) and K/S (k, 31) of each kind of fibre, pigmented before white."""
        white = self.white_percent / 100.0
        pigmented = chart.warmth_ks(self.lifted_level, self.undertone)
        return self.by_fibre(1.0 - white, white), self.by_fibre(pigmented, white_hair_ks())

    def reflectance(self, chart: Chart) -> Array:
        """Return the reflectance of the hair alone, (31,).

        White and pigmented fibres lie side by side, so their reflectances average.
        """
        shares, ks = self.fibres(chart)
        return np.asarray(shares @ to_reflectance(ks))


def undertone_from_word(word: str, *, level: float, chart: Chart | None = None) -> float:
    """Return the undertone, -1..1, that a trade word means at a level.

    A word is a hue; what it means on the scale depends on the chart's own hue at that level.
    Hues beyond the scale give its end.

    Raises
    ------
    ValueError
        If the word is not known; the message lists those that are.
    """
    key = " ".join(str(word).strip().lower().replace("_", " ").split())
    key = SAME_UNDERTONE.get(key, key)
    if key not in UNDERTONE_WORDS:
        raise ValueError(f"undertone {word!r}: use one of {', '.join(UNDERTONE_WORDS)}")
    checks.number(level, name="level", unit="level", low=1, high=10)
    return (chart or Chart.default()).undertone_at_hue(UNDERTONE_WORDS[key], level=level)
