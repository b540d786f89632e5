"""What learning finds besides strengths: how far predictions miss, and people's habits."""

from dataclasses import dataclass

from formulas.engine.prediction.ranged import Ranged


@dataclass(frozen=True)
class Miss:
    """Root mean square of what predictions missed; results noted wrongly hardly count.

    Attributes
    ----------
    levels : float
        Depth, by L*. [levels]
    warmth_percent : float
        Warmth left. [%]
    """

    levels: float
    warmth_percent: float


@dataclass(frozen=True)
class Habit:
    """How somebody reads: lighter (positive) or deeper, warmer (positive) or cooler.

    Attributes
    ----------
    results : int
        How many results were read so. [count]
    level, warmth_percent : Ranged
        Of results; about 19 in 20 lie in the range. [levels], [%]
    start_level : Ranged
        Of the zone before. [levels]
    """

    results: int
    level: Ranged[float]
    warmth_percent: Ranged[float]
    start_level: Ranged[float]
