"""What a prediction may be off by: each doubtful input, moved by one standard doubt.

Half a level is the step in which levels are read, so two standard doubts of the level make
half a level. The others are model assumptions. What is wrong with the model itself is
beside them (`MODEL_LEVELS`, `MODEL_WARMTH`), and only a salon's own results make it smaller:
see `visits.calibration`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from formulas.engine import checks
from formulas.engine.toner.lines import Line
from formulas.engine.toner.shades import Shade
from formulas.engine.toner.zone import Zone

LEVEL_DOUBT = 0.25
UNDERTONE_DOUBT = 0.25
POROSITY_DOUBT = 0.35
WHITE_DOUBT_PERCENT = 5.0
# A shade's strength: read from its words, or from a measured swatch.
STRENGTH_DOUBT = 0.12
SWATCH_DOUBT = 0.05
# What all shades of a line have in common, and how much one client's hair takes.
LINE_DOUBT = 0.08
TAKE_DOUBT = 0.12
# The published range of wetting, 2.0 to 2.7, is about 15 % either way of its middle.
WETTING_DOUBT = 0.15
# The model itself: depth in levels, warmth in % of the starting warmth. As wide as salons of
# another physics need before they have results of their own (`engine simulate`), and no wider.
MODEL_LEVELS, MODEL_WARMTH = 0.28, 10.0
# A zone's readings: standard doubt, least and most of the scale.
READINGS: Mapping[str, tuple[float, float, float]] = {
    "lifted_level": (LEVEL_DOUBT, 1.0, 10.0),
    "undertone": (UNDERTONE_DOUBT, -1.0, 1.0),
    "porosity": (POROSITY_DOUBT, -1.0, 1.0),
    "white_percent": (WHITE_DOUBT_PERCENT, 0.0, 100.0),
}
# How far results may narrow or widen a range.
NARROWEST, WIDEST = 0.4, 3.0


@dataclass(frozen=True)
class Doubts:
    """What is not known of a line here; narrower where results have earned it.

    Attributes
    ----------
    shades : mapping of shade name to float
        Relative standard doubt of each strength, 0 to 0.5; by words or swatch where a name is
        missing. [unitless]
    line, take : float
        Relative standard doubt of what all shades share, and of how much this hair takes, 0
        to 0.5. [unitless]
    depth_factor, warmth_factor : float
        Factor on the whole range of depths and of warmth, 0.4 to 3; 1 without results.
        [unitless]
    """

    shades: Mapping[str, float] = field(default_factory=dict)
    line: float = LINE_DOUBT
    take: float = TAKE_DOUBT
    depth_factor: float = 1.0
    warmth_factor: float = 1.0

    def __post_init__(self) -> None:
        for name, doubt in (*self.shades.items(), ("the line", self.line), ("take", self.take)):
            checks.number(doubt, name=f"doubt of {name}", unit="share", low=0, high=0.5)
        for name in ("depth_factor", "warmth_factor"):
            checks.number(
                getattr(self, name), name=name, unit="factor", low=NARROWEST, high=WIDEST
            )

    def of(self, shade: Shade) -> float:
        """Return the relative standard doubt of one shade's strength; clear has none."""
        return 0.0 if shade.is_clear else self.shades.get(shade.name, doubt_by_kind(shade))

    @property
    def deposit(self) -> float:
        """Relative standard doubt of what the whole deposit shares. [unitless]"""
        return float(np.hypot(self.line, self.take))


def doubt_by_kind(shade: Shade) -> float:
    """Return the doubt of a shade without results: words are less sure than a swatch."""
    if shade.is_clear:
        return 0.0
    return STRENGTH_DOUBT if shade.reflectance is None else SWATCH_DOUBT


@dataclass(frozen=True)
class Case:
    """One zone to predict on, with factors on the deposit and on the wetting ratio."""

    zone: Zone
    deposit: float = 1.0
    wetting: float = 1.0
    shades: Mapping[str, float] = field(default_factory=dict)


def doubtful_pairs(
    zone: Zone, line: Line | None = None, doubts: Doubts | None = None
) -> list[tuple[Case, Case]]:
    """Return pairs of cases, one input moved down and up in each.

    Parameters
    ----------
    zone : Zone
    line : Line, optional
        The shades of the mix, each moved by itself.
    doubts : Doubts, optional
    """
    known = doubts or Doubts()
    less, more = 1.0 - known.deposit, 1.0 + known.deposit
    drier, wetter = 1.0 - WETTING_DOUBT, 1.0 + WETTING_DOUBT
    pairs = [
        *moved_zones(zone),
        (Case(zone, deposit=less), Case(zone, deposit=more)),
        (Case(zone, wetting=drier), Case(zone, wetting=wetter)),
    ]
    for shade in line.shades if line else ():
        doubt = known.of(shade)
        if doubt:
            down, up = {shade.name: 1.0 - doubt}, {shade.name: 1.0 + doubt}
            pairs.append((Case(zone, shades=down), Case(zone, shades=up)))
    return pairs


def moved_zones(zone: Zone) -> list[tuple[Case, Case]]:
    """Return pairs of cases with one reading of the zone lower and higher in each."""
    names = [name for name in READINGS if name != "white_percent" or zone.white_percent > 0]
    return [
        (Case(moved_reading(zone, name, -1.0)[0]), Case(moved_reading(zone, name, 1.0)[0]))
        for name in names
    ]


def moved_reading(zone: Zone, name: str, sign: float = 0.0) -> tuple[Zone, float]:
    """Return the zone with one reading moved by its doubt, and by how much that was.

    The scale's ends stop it. Without a sign it moves to where there is room; hair without
    white stays so.
    """
    doubt, low, high = READINGS[name]
    at = float(getattr(zone, name))
    if name == "white_percent" and at == 0.0:
        return zone, doubt
    if not sign:
        sign = 1.0 if at + doubt <= high else -1.0
    value = float(np.clip(at + sign * doubt, low, high))
    return replace(zone, **{name: value}), value - at  # type: ignore[arg-type]
