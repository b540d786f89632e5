"""The level chart: natural hair and exposed warmth, levels 1 to 10 in half steps.

No published table of L*a*b* for lift stages was found; the default chart is a model
assumption (data/chart.csv), whose levels 1 to 3 agree with dark hair measured by Scanavez
et al. 2000. One idea keeps it small: a level is a depth, so both colours of a level share
its L*, and the exposed warmth turns from red-brown to pale yellow as the level rises.
"""

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from importlib import resources

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine import checks
from formulas.engine.hair.chart_checks import checked_colours, refuse_cool_warmth
from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_ks
from formulas.engine.light.recovery import recover_reflectance

LEVELS: Array = np.arange(1.0, 10.01, 0.5)
ASSUMED = "model assumption"
MEASURED = "measured"
KINDS = ("natural", "warmth")

# White (unpigmented) hair, slightly yellow: model assumption.
WHITE_HAIR_LAB = (82.0, -0.3, 9.0)

# How far "more orange" and "more golden" turn the exposed warmth (model assumption):
# at level 7.5 it spans orange to gold, the neighbours' own hues.
UNDERTONE_TURN_DEG = 14.0
# Lightened hair is never green: no undertone turns past yellow (model assumption).
GREENEST_HUE_DEG = 88.0


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
        levels: ArrayLike | None = None,
        standing: Sequence[tuple[str, str]] | None = None,
    ) -> "Chart":
        """Return a chart of a salon's own colours, checked.

        Parameters
        ----------
        natural_lab, warmth_lab : (n, 3) float arrays
            L*a*b*, D65, 10 degrees.
        levels : (n,) float array, optional
            Rising from 1 to 10; half steps between them are interpolated. If left out, n is
            19: levels 1 to 10 in half steps. [level]
        standing : sequence of 19 (str, str), optional
            Where each pair comes from: "model assumption" or "measured".

        Raises
        ------
        ValueError
            If a shape is wrong, a colour is not finite or cannot be a surface, a level is
            not lighter than the one below it, or a warmth is no warmer than natural hair.
        """
        at = LEVELS if levels is None else np.asarray(levels, dtype=float)
        natural = checked_colours(natural_lab, at, LEVELS, name="natural_lab")
        warmth = checked_colours(warmth_lab, at, LEVELS, name="warmth_lab")
        words = tuple(standing or ((ASSUMED, ASSUMED),) * len(LEVELS))
        if len(words) != len(LEVELS):
            raise ValueError(f"standing needs {len(LEVELS)} pairs, given {len(words)}")
        for word in (word for pair in words for word in pair):
            checks.one_of(word, (ASSUMED, MEASURED), name="standing")
        refuse_cool_warmth(natural, warmth, LEVELS)
        chart = cls(natural, warmth, words)
        _ = chart.natural_reflectance, chart._log_ks_of_warmth  # raises where none exists
        return chart

    def replaced(
        self, *, level: float, kind: str, lab: ArrayLike, standing: str = MEASURED
    ) -> "Chart":
        """Return a chart with one entry of the salon's own; see `with_entries`."""
        return self.with_entries([(level, kind, lab, standing)])

    def with_entries(self, entries: Iterable[tuple[float, str, ArrayLike, str]]) -> "Chart":
        """Return a chart with entries (level, "natural" or "warmth", L*a*b*, standing).

        All are put in before the chart is checked, so that their order does not matter.

        Raises
        ------
        ValueError
            As `from_lab`, or if a level is not on the chart.
        """
        colours = {"natural": self.natural_lab.copy(), "warmth": self.warmth_lab.copy()}
        words = [list(pair) for pair in self.standing]
        for level, kind, lab, standing in entries:
            checks.one_of(kind, KINDS, name="kind")
            places = np.flatnonzero(np.isclose(LEVELS, float(level)))
            if not len(places):
                raise ValueError(f"level [level] must be 1..10 in half steps, given {level!r}")
            colour = np.asarray(lab, dtype=float)
            if colour.shape != (3,):
                text = f"lab [L*a*b*] needs 3 values, given shape {colour.shape}"
                raise checks.EngineRefusal("no_colour", text)
            colours[kind][places[0]] = colour
            words[places[0]][KINDS.index(kind)] = standing
        return Chart.from_lab(
            natural_lab=colours["natural"],
            warmth_lab=colours["warmth"],
            standing=[(natural, warmth) for natural, warmth in words],
        )

    @cached_property
    def natural_to_white(self) -> Array:
        """L*a*b* of natural hair by depth, white hair as the lightest of it, (n, 3)."""
        if WHITE_HAIR_LAB[0] <= self.natural_lab[-1, 0]:
            return self.natural_lab
        return np.concatenate([self.natural_lab, [WHITE_HAIR_LAB]])

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
        turned = [turn_hue(self.warmth_lab, turn) for turn in self._turns]
        return np.log(to_ks(recover_reflectance(np.stack(turned))))

    @cached_property
    def warmth_hue_deg(self) -> Array:
        """Hue angle of the exposed warmth, (19,). [deg]"""
        return np.degrees(np.arctan2(self.warmth_lab[:, 2], self.warmth_lab[:, 1]))

    @cached_property
    def _turns(self) -> Array:
        """Degrees by which undertone -1, 0, +1 turns each level's warmth, (3, 19)."""
        golden = np.minimum(UNDERTONE_TURN_DEG, GREENEST_HUE_DEG - self.warmth_hue_deg)
        own = np.zeros_like(golden)
        return np.stack([own - UNDERTONE_TURN_DEG, own, np.maximum(golden, 1.0)])

    def natural_lab_at(self, level: float) -> Array:
        """Return L*a*b* of natural hair at any level 1..10, (3,)."""
        return np.array([np.interp(level, LEVELS, self.natural_lab[:, k]) for k in range(3)])

    def natural_ks(self, level: float) -> Array:
        """Return K/S of natural hair at any level 1..10, (31,); ln K/S is interpolated."""
        checks.number(level, name="level", unit="level", low=1, high=10)
        return _interpolate(self._log_ks_of_natural, level)

    def warmth_ks(self, level: float, undertone: float) -> Array:
        """Return K/S of hair lightened to `level`, (31,).

        `undertone` runs from -1 (more orange) over 0 (the chart's own) to +1 (more golden).
        Between the entries ln K/S is interpolated, so that the result is always a surface.
        """
        checks.number(level, name="level", unit="level", low=1, high=10)
        checks.number(undertone, name="undertone", unit="-1..1", low=-1, high=1)
        table = self._log_ks_of_warmth
        side = 0 if undertone < 0 else 2
        share = abs(undertone)
        return _interpolate((1.0 - share) * table[1] + share * table[side], level)

    def undertone_at_hue(self, hue_deg: float, *, level: float) -> float:
        """Return the undertone, -1..1, that shows a hue at a level; its ends beyond them."""
        own = float(np.interp(level, LEVELS, self.warmth_hue_deg))
        orange, _, golden = (float(np.interp(level, LEVELS, turns)) for turns in self._turns)
        return float(np.interp(hue_deg - own, [orange, 0.0, golden], [-1.0, 0.0, 1.0]))


def turn_hue(lab: ArrayLike, degrees: ArrayLike) -> Array:
    """Return `lab` (..., 3) with its hue angle turned; lightness and chroma stay."""
    values = np.asarray(lab, dtype=float)
    angle = np.radians(degrees)
    a, b = values[..., 1], values[..., 2]
    turned = [
        values[..., 0],
        a * np.cos(angle) - b * np.sin(angle),
        a * np.sin(angle) + b * np.cos(angle),
    ]
    return np.stack(turned, axis=-1)


def _interpolate(log_ks: Array, level: float) -> Array:
    place = (level - LEVELS[0]) / 0.5
    low = int(np.clip(np.floor(place), 0, len(LEVELS) - 2))
    share = place - low
    return np.asarray(np.exp((1.0 - share) * log_ks[low] + share * log_ks[low + 1]))


@lru_cache(maxsize=1)
def _default() -> Chart:
    text = resources.files("formulas.engine").joinpath("data/chart.csv").read_text("utf-8")
    rows = np.array(
        [[float(v) for v in row] for row in list(csv.reader(text.splitlines()))[1:]]
    )
    lightness, a, b, hue, chroma = (
        np.interp(LEVELS, rows[:, 0], rows[:, k]) for k in range(1, 6)
    )
    radians = np.radians(hue)
    return Chart.from_lab(
        natural_lab=np.stack([lightness, a, b], axis=-1),
        warmth_lab=np.stack(
            [lightness, chroma * np.cos(radians), chroma * np.sin(radians)], axis=-1
        ),
    )
