"""What a prediction may be off by: each doubtful input, moved by one standard doubt.

Half a level is the step in which levels are read, so two standard doubts of the level make
half a level. The others are model assumptions.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from formulas.engine.toner.zone import Zone

LEVEL_DOUBT = 0.25
UNDERTONE_DOUBT = 0.25
POROSITY_DOUBT = 0.35
WHITE_DOUBT_PERCENT = 5.0
STRENGTH_DOUBT = 0.12
# The published range of wetting, 2.0 to 2.7, is about 15 % either way of its middle.
WETTING_DOUBT = 0.15


@dataclass(frozen=True)
class Case:
    """One zone to predict on, with factors on the deposit and on the wetting ratio."""

    zone: Zone
    deposit: float = 1.0
    wetting: float = 1.0


def doubtful_pairs(zone: Zone, *, strength_doubt: float) -> list[tuple[Case, Case]]:
    """Return pairs of cases, one input moved down and up in each.

    Parameters
    ----------
    zone : Zone
    strength_doubt : float
        Relative standard doubt of the shades' strength. [unitless]
    """
    pairs = [
        _moved(zone, "lifted_level", LEVEL_DOUBT, 1.0, 10.0),
        _moved(zone, "undertone", UNDERTONE_DOUBT, -1.0, 1.0),
        _moved(zone, "porosity", POROSITY_DOUBT, -1.0, 1.0),
        (Case(zone, deposit=1.0 - strength_doubt), Case(zone, deposit=1.0 + strength_doubt)),
        (Case(zone, wetting=1.0 - WETTING_DOUBT), Case(zone, wetting=1.0 + WETTING_DOUBT)),
    ]
    if zone.white_percent > 0:
        pairs.append(_moved(zone, "white_percent", WHITE_DOUBT_PERCENT, 0.0, 100.0))
    return pairs


def _moved(zone: Zone, name: str, step: float, low: float, high: float) -> tuple[Case, Case]:
    """Return the zone with one reading lower and higher; the scale's ends stop it."""

    def cases() -> Iterator[Case]:
        for sign in (-1.0, 1.0):
            value = float(np.clip(getattr(zone, name) + sign * step, low, high))
            yield Case(replace(zone, **{name: value}))  # type: ignore[arg-type]

    down, up = cases()
    return down, up
