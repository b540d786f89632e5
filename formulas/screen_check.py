"""Whether a screen shows the differences between hair colours that a client is asked about.

Two ramps of grey whose steps are counted, and pairs of hair colours 2 and 4 apart in CIEDE2000
(a difference of 1 is just seen side by side, of 2 by most; common practice, no source), some of
them alike, so that who always says "different" is found out. Every check is dealt again.
"""

import random
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from formulas.engine import delta_e_2000
from formulas.engine.light.colorimetry import lab_to_hex
from formulas.screen_colours import chart_cells
from salon.drawing import colour
from salon.models import Salon, ScreenVerdict

if TYPE_CHECKING:
    from collections.abc import Sequence

# The steps of a ramp are this far apart in L*, from its dark or light end on.
DARK_FROM, LIGHT_TO, STEP = 5.0, 97.0, 3.5
FEWEST, MOST = 5, 8
# Along which of L*, a* and b* two colours differ, and how far in CIEDE2000.
LIGHTNESS, REDNESS, YELLOWNESS = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
KINDS = (
    (LIGHTNESS, 4.0),
    (REDNESS, 4.0),
    (YELLOWNESS, 4.0),
    (LIGHTNESS, 2.0),
    (YELLOWNESS, 2.0),
    (LIGHTNESS, 0.0),
    (YELLOWNESS, 0.0),
)
HAIR_LEVELS = (5, 7, 8, 9)


@dataclass(frozen=True)
class Pair:
    """Two colours side by side: how far apart, and along which of L*, a* and b*."""

    left: str
    right: str
    apart: float
    along: tuple[float, float, float]


@dataclass(frozen=True)
class Check:
    """What is shown: grey steps from dark to light, and pairs of hair colours."""

    dark: tuple[str, ...]
    light: tuple[str, ...]
    pairs: tuple[Pair, ...]


def dealt(seed: int, *, salon: Salon) -> Check:
    """Return the check that a seed deals, in the colours of the salon's own chart."""
    dice = random.Random(seed)  # noqa: S311 - an order of pictures, not a secret
    dark, light = dice.randint(FEWEST, MOST), dice.randint(FEWEST, MOST)
    hair = {
        int(warmth.level): warmth.lab
        for _natural, warmth in chart_cells(salon=salon)
        if warmth.level in HAIR_LEVELS
    }
    pairs = [_pair(hair[dice.choice(HAIR_LEVELS)], along, far) for along, far in KINDS]
    dice.shuffle(pairs)
    return Check(
        dark=tuple(_grey(DARK_FROM + STEP * n) for n in range(dark)),
        light=tuple(_grey(LIGHT_TO - STEP * n) for n in reversed(range(light))),
        pairs=tuple(pairs),
    )


def verdict(
    check: Check, *, dark_steps: int, light_steps: int, differ: "Sequence[bool]"
) -> ScreenVerdict:
    """Return how far the screen can be trusted, from what somebody saw on it.

    `differ` says of each pair whether it looked different. Which answer points to which fault
    is common practice without a source: night mode takes the blue away, and with it the
    difference between yellow and neutral; a dim screen loses its darkest steps first.
    """
    seen = list(zip(check.pairs, differ, strict=True))
    if any(differs and not pair.apart for pair, differs in seen):
        return ScreenVerdict.UNFIT
    missed = {pair.along for pair, differs in seen if pair.apart == 4.0 and not differs}
    if missed == {YELLOWNESS}:
        return ScreenVerdict.NIGHT_MODE
    if missed or light_steps != len(check.light):
        return ScreenVerdict.UNFIT
    fine = [differs for pair, differs in seen if pair.apart == 2.0]
    if dark_steps != len(check.dark) or not any(fine):
        return ScreenVerdict.TOO_DIM
    return ScreenVerdict.TRUSTED


def differences_in(cleaned: Mapping[str, object]) -> list[bool]:
    """Return of each pair whether a form says that it differs."""
    return [cleaned[f"pair_{n}"] == "different" for n in range(1, len(KINDS) + 1)]


def _pair(lab: tuple[float, ...], along: tuple[float, float, float], apart: float) -> Pair:
    """Return a colour beside one that is `apart` from it in CIEDE2000."""
    start, way = np.asarray(lab), np.asarray(along)
    near, far = 0.0, 30.0
    for _ in range(30):  # halved thirty times: far finer than a screen's own steps
        middle = (near + far) / 2
        if float(delta_e_2000(start, start - middle * way)) < apart:
            near = middle
        else:
            far = middle
    return Pair(lab_to_hex(start), lab_to_hex(start - near * way), apart, along)


def _grey(lightness: float) -> str:
    return colour.lab_to_hex((lightness, 0.0, 0.0))
