"""The level chart: natural hair and exposed warmth, levels 1 to 10 in half steps.

No published table of L*a*b* for lift stages was found; the default chart is a model
assumption (data/chart.csv), whose levels 1 to 3 agree with dark hair measured by Scanavez
et al. 2000. One idea keeps it small: a level is a depth, so both colours of a level share
its L*, and the exposed warmth turns from red-brown to pale yellow as the level rises.
"""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from importlib import resources

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine.grid import Array
from formulas.engine.kubelka_munk import to_ks
from formulas.engine.recovery import recover_reflectance

LEVELS: Array = np.arange(1.0, 10.01, 0.5)
ASSUMED = "model assumption"
MEASURED = "measured"

# How far "more orange" and "more golden" turn the exposed warmth (model assumption):
# at level 7.5 it spans orange to gold, the neighbours' own hues.
UNDERTONE_TURN_DEG = 14.0


@dataclass(frozen=True, eq=False)
class Chart:
    """Two colours per level.

    Attributes
    ----------
    natural_lab, warmth_lab : (19, 3) float arrays
        L*a*b*, D65, 10 degrees, at `LEVELS`.
    standing : tuple of (natural, warmth) words per level
        "model assumption" or "measured".
    """

    natural_lab: Array
    warmth_lab: Array
    standing: tuple[tuple[str, str], ...]

    @classmethod
    def default(cls) -> "Chart":
        """Return the documented default chart."""
        return _default()

    @classmethod
    def from_lab(
        cls,
        *,
        natural_lab: ArrayLike,
        warmth_lab: ArrayLike,
        standing: Sequence[tuple[str, str]] | None = None,
    ) -> "Chart":
        """Return a chart of a salon's own colours, checked.

        Parameters
        ----------
        natural_lab, warmth_lab : (19, 3) float arrays
            L*a*b*, D65, 10 degrees, for levels 1 to 10 in half steps.
        standing : sequence of (str, str), optional
            Where each pair comes from.

        Raises
        ------
        ValueError
            If a shape is wrong, a colour is not finite or cannot be a surface, or a level
            is not lighter than the one below it.
        """
        natural = _checked(natural_lab, name="natural_lab")
        warmth = _checked(warmth_lab, name="warmth_lab")
        words = tuple(standing or ((ASSUMED, ASSUMED),) * len(LEVELS))
        if len(words) != len(LEVELS):
            raise ValueError(f"standing needs {len(LEVELS)} pairs, given {len(words)}")
        chart = cls(natural, warmth, words)
        _ = chart.natural_reflectance, chart._log_ks_of_warmth  # raises where none exists
        return chart

    def replaced(self, *, level: float, kind: str, lab: ArrayLike) -> "Chart":
        """Return a chart with one measured entry; `kind` is "natural" or "warmth".

        Raises
        ------
        ValueError
            As `from_lab`, or if the level is not on the chart.
        """
        places = np.flatnonzero(np.isclose(LEVELS, level))
        if not len(places) or kind not in {"natural", "warmth"}:
            raise ValueError(f"level must be 1 to 10 in half steps, given {level!r} ({kind!r})")
        at = int(places[0])
        natural, warmth = self.natural_lab.copy(), self.warmth_lab.copy()
        (natural if kind == "natural" else warmth)[at] = np.asarray(lab, dtype=float)
        standing = list(self.standing)
        old = standing[at]
        standing[at] = (MEASURED, old[1]) if kind == "natural" else (old[0], MEASURED)
        return Chart.from_lab(natural_lab=natural, warmth_lab=warmth, standing=standing)

    @cached_property
    def natural_reflectance(self) -> Array:
        """Reflectance of natural hair, (19, 31)."""
        return recover_reflectance(self.natural_lab)

    @cached_property
    def _log_ks_of_natural(self) -> Array:
        """ln K/S of natural hair, (19, 31)."""
        return np.log(to_ks(self.natural_reflectance))

    @cached_property
    def _log_ks_of_warmth(self) -> Array:
        """ln K/S of exposed warmth, (undertone -1, 0, +1; 19 levels; 31 bands)."""
        turned = np.stack(
            [turn_hue(self.warmth_lab, u * UNDERTONE_TURN_DEG) for u in (-1, 0, 1)]
        )
        return np.log(to_ks(recover_reflectance(turned)))

    def natural_lab_at(self, level: float) -> Array:
        """Return L*a*b* of natural hair at any level 1..10, (3,)."""
        return np.array([np.interp(level, LEVELS, self.natural_lab[:, k]) for k in range(3)])

    def natural_ks(self, level: float) -> Array:
        """Return K/S of natural hair at any level 1..10, (31,); ln K/S is interpolated."""
        return _interpolate(self._log_ks_of_natural, level)

    def warmth_ks(self, level: float, undertone: float) -> Array:
        """Return K/S of hair lightened to `level`, (31,).

        `undertone` runs from -1 (more orange) over 0 (the chart's own) to +1 (more golden).
        Between the entries ln K/S is interpolated, so that the result is always a surface.
        """
        table = self._log_ks_of_warmth
        side = 0 if undertone < 0 else 2
        share = abs(undertone)
        return _interpolate((1.0 - share) * table[1] + share * table[side], level)


def turn_hue(lab: ArrayLike, degrees: float) -> Array:
    """Return `lab` (..., 3) with its hue angle turned; lightness and chroma stay."""
    values = np.asarray(lab, dtype=float)
    angle = np.radians(degrees)
    a, b = values[..., 1], values[..., 2]
    return np.stack(
        [
            values[..., 0],
            a * np.cos(angle) - b * np.sin(angle),
            a * np.sin(angle) + b * np.cos(angle),
        ],
        axis=-1,
    )


def _interpolate(log_ks: Array, level: float) -> Array:
    place = (level - LEVELS[0]) / 0.5
    low = int(np.clip(np.floor(place), 0, len(LEVELS) - 2))
    share = place - low
    return np.exp((1.0 - share) * log_ks[low] + share * log_ks[low + 1])


def _checked(lab: ArrayLike, *, name: str) -> Array:
    values = np.array(lab, dtype=float)
    if values.shape != (len(LEVELS), 3):
        raise ValueError(
            f"{name} [L*a*b*] needs shape ({len(LEVELS)}, 3), given {values.shape}"
        )
    if not np.all(np.isfinite(values)):
        raise ValueError(f"{name} [L*a*b*] holds values that are not finite numbers")
    darker = np.flatnonzero(np.diff(values[:, 0]) <= 0)
    if len(darker):
        level = LEVELS[darker[0] + 1]
        raise ValueError(
            f"{name} [L*a*b*]: level {level:g} is not lighter than level {level - 0.5:g} "
            f"(L* {values[darker[0] + 1, 0]:.1f} against {values[darker[0], 0]:.1f}); "
            "hair must get lighter as the level rises"
        )
    return values


@lru_cache(maxsize=1)
def _default() -> Chart:
    text = resources.files("formulas.engine").joinpath("data/chart.csv").read_text()
    rows = np.array(
        [[float(v) for v in row] for row in list(csv.reader(text.splitlines()))[1:]]
    )
    lightness, a, b, hue, chroma = (
        np.interp(LEVELS, rows[:, 0], rows[:, k]) for k in range(1, 6)
    )
    radians = np.radians(hue)
    warmth = np.stack([lightness, chroma * np.cos(radians), chroma * np.sin(radians)], axis=-1)
    return Chart.from_lab(natural_lab=np.stack([lightness, a, b], axis=-1), warmth_lab=warmth)
