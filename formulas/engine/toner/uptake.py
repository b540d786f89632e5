"""How much of a toner hair takes up in a time, and how much of it the washes leave."""

import numpy as np

from formulas.engine import checks
from formulas.engine.toner import calibration
from formulas.engine.toner.lines import Line

# Porous hair takes dye faster (Tate et al. 1993: diffusion about 12 times faster in bleached
# hair than in virgin hair, with a large spread; among lightened hair the model takes twice as
# fast per unit of porosity: model assumption).
PACE_PER_POROSITY = 2.0
# ... and ends a little deeper, since porous ends grab (common practice, no source; size is a
# model assumption). What it took it loses sooner: see FADE_PER_POROSITY.
HOLD_PER_POROSITY = 0.12
# Washes after which half of a demi-permanent toner is gone: 10 to 12 washes and more for it
# to fade out (trade and textbook texts) make 5 to 6 for half (model assumption). Bleached
# hair holds less acid dye, so an acidic line starts a little lower (model assumption).
HALF_LIFE_WASHES = {"alkaline": 6.0, "acidic": 5.0}
# Bleached hair fades faster (Cheng et al. 2009; size: model assumption).
FADE_PER_POROSITY = 1.3


def time_factor(minutes: float | None, *, line: Line) -> float:
    """Return the share of the nominal deposit that hair of normal porosity takes. [unitless]

    u(t) = sqrt((1 - exp(-k t/T)) / (1 - exp(-k))), k = SATURATION, T the line's own time:
    1 at T, early as sqrt(t), late level at 1.13 (early: Tate et al. 1993, J. Soc. Cosmet. Chem.
    44:347-371; the rest: model assumption).
    """
    return _taken(minutes, line, porosity=0.0)


def porosity_factor(minutes: float | None, *, line: Line, porosity: float) -> float:
    """Return how much more (or less) porous hair takes in the same time. [unitless]

    Time runs PACE_PER_POROSITY ** porosity as fast, and the end lies
    1 + HOLD_PER_POROSITY * porosity as deep.
    """
    p = checks.number(porosity, name="porosity", unit="-1..1", low=-1, high=1)
    held = 1.0 + HOLD_PER_POROSITY * p
    plain = _taken(minutes, line, porosity=0.0)
    if plain == 0.0:
        return held * float(np.sqrt(PACE_PER_POROSITY**p))  # the limit of early minutes
    return held * _taken(minutes, line, porosity=p) / plain


def _taken(minutes: float | None, line: Line, *, porosity: float) -> float:
    t = line.processing_minutes if minutes is None else minutes
    t = checks.number(t, name="minutes", unit="min", low=0, high=180)
    bend = calibration.SATURATION
    pace = PACE_PER_POROSITY**porosity * t / line.processing_minutes
    return float(np.sqrt(np.expm1(-bend * pace) / np.expm1(-bend)))


def lift_factor(lifted_level: float, natural_level: float | None, *, kind: str) -> float:
    """Return what hair takes of the nominal deposit by how far it was lifted. [unitless]

    u(lift) = little + (much - little) lift^2 / (lift^2 + half^2); white hair, on which the
    deposit of a shade is defined, takes 1.

    Parameters
    ----------
    lifted_level : float
        1 to 10. [level]
    natural_level : float or None
        1 to 10, or the usual one where nobody read it. [level]
    kind : str
        "acidic" or "alkaline".

    References
    ----------
    .. [1] Tate et al. 1993, J. Soc. Cosmet. Chem. 44:347-371, Table III (direction: dye
       diffuses about 12 times faster in bleached hair); form and size: model assumption,
       fitted to the facts of the trade (see `calibration`).
    """
    checks.one_of(kind, calibration.UPTAKE_LITTLE, name="kind")
    natural = calibration.USUAL_NATURAL_LEVEL if natural_level is None else natural_level
    lift = max(lifted_level - natural, 0.0)
    little, much = calibration.UPTAKE_LITTLE[kind], calibration.UPTAKE_MUCH[kind]
    share = lift**2 / (lift**2 + calibration.UPTAKE_HALF_WAY_LEVELS**2)
    return float(little + (much - little) * share)


def uptake(minutes: float | None, *, line: Line, porosity: float = 0.0) -> float:
    """Return how much of the line's nominal deposit white hair takes; 1 at the line's own time.

    Parameters
    ----------
    minutes : float or None
        0 to 180; None for the line's own. [min]
    line : Line
    porosity : float
        -1 to 1. [unitless]

    Raises
    ------
    ValueError
        If a number is out of range.
    """
    more = porosity_factor(minutes, line=line, porosity=porosity)
    return time_factor(minutes, line=line) * more


def dilution(line: Line, developer_ratio: float | None) -> float:
    """Return the concentration of pigment against the line's own recipe. [unitless]

    (1 + the line's ratio) / (1 + `developer_ratio`), parts of developer to one of colour.
    """
    if developer_ratio is None:
        return 1.0
    ratio = checks.number(
        developer_ratio, name="developer_ratio", unit="parts", low=0.1, high=10
    )
    return (1.0 + line.developer_ratio) / (1.0 + ratio)


def kept(washes: float, *, kind: str, porosity: float = 0.0) -> float:
    """Return the share of a toner that is left after a number of washes. [unitless]"""
    checks.one_of(kind, HALF_LIFE_WASHES, name="kind")
    count = checks.number(washes, name="washes", unit="count", low=0, high=1000)
    half = HALF_LIFE_WASHES[kind] / FADE_PER_POROSITY**porosity
    return float(0.5 ** (count / half))
