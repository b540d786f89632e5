"""How a colour is read: warmth left, level, and how much deeper it is and looks.

Warmth is measured against natural hair of the same depth, along the direction in which the
exposed warmth of this hair exceeds it. What lies across that direction is the *cast*
(greenish on one side, violet-red on the other). A slight cast is forgiven; a strong one is
not neutral either, so it counts as warmth not taken out: warmth = along + cast^2 / FULL_CAST.
Without that term a vivid green would pass as neutral, and the lightest "neutral" colour
that a deposit can leave would be one that no client wants.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine.hair.chart import LEVELS, Chart
from formulas.engine.light.grid import Array

# Where less warmth shows than this (in units of a*b*), or than this share of what the
# pigmented fibres alone would show, percentages are taken of that much, so that they stay
# bounded, and without a jump as white goes up to all of it (model assumption). Such hair starts
# below 100 %, and what is left of it is described in words, not in per cent.
SMALLEST_WARMTH = 5.0
SMALLEST_SHARE = 0.5

# How much cooler than it is now hair of little warmth is toned at most: a clear silver, short
# of a colour of its own. [%]
COOLER_AT_MOST_PERCENT = 60.0

# The cast that counts in full, in units of a*b*: a cast of 2 counts 0.2, of 5 counts 1.25, of
# 20 counts 20 (model assumption).
FULL_CAST = 20.0


def perceived_lightness(lab: ArrayLike) -> Array:
    """Return L**, the lightness that counts the brightness lent by chroma.

    L** = L* + (2.5 - 0.025 L*) (0.116 abs(sin((h - 90) / 2)) + 0.085) C*

    Parameters
    ----------
    lab : (..., 3) float array

    Returns
    -------
    lightness : (...) float array

    Notes
    -----
    Measured on colour patches; for hair it has not been shown, and for faces the effect
    can be reversed (Shimakura & Sakata 2019).

    References
    ----------
    .. [1] Fairchild & Pirrotta 1991, Color Res. Appl. 16(6):385-393.
    """
    values = np.asarray(lab, dtype=float)
    lightness, a, b = values[..., 0], values[..., 1], values[..., 2]
    chroma = np.hypot(a, b)
    # abs(sin((h - 90)/2)) = sqrt((1 - cos(h - 90)) / 2), and C* cos(h - 90) = b*.
    half_sine = np.sqrt(np.maximum(chroma * (chroma - b), 0.0) / 2.0)
    return np.asarray(
        lightness + (2.5 - 0.025 * lightness) * (0.116 * half_sine + 0.085 * chroma)
    )


@dataclass(frozen=True, eq=False)
class Judge:
    """Reads colours of one zone against its start and the chart.

    Attributes
    ----------
    start_lab : (3,) float array
        The dry colour that the client sees before toning.
    warm_lab : (3,) float array
        The colour of the pigmented fibres alone: it sets the direction of warmth, which
        white fibres or a residual toner would blur.
    chart : Chart
    bare_lab : (3,) float array, optional
        The hair without toner from the last visit: its warmth is the 100 %, so that a zone
        that still holds toner starts below it and visits stay comparable. The start, if
        left out.
    """

    start_lab: Array
    warm_lab: Array
    chart: Chart
    bare_lab: Array | None = None

    @cached_property
    def _natural(self) -> Array:
        return self.chart.natural_lab

    @cached_property
    def _natural_looks(self) -> Array:
        return perceived_lightness(self._natural)

    @cached_property
    def starting_warmth(self) -> float:
        """What 100 % stands for: the bare hair's warmth in units of a*b* (see above)."""
        return max(self._own_warmth, self._least_warmth)

    @cached_property
    def _least_warmth(self) -> float:
        return max(SMALLEST_SHARE * float(self._warmth(self.warm_lab)), SMALLEST_WARMTH)

    @cached_property
    def _own_warmth(self) -> float:
        bare = self.start_lab if self.bare_lab is None else self.bare_lab
        return float(self._warmth(bare))

    @property
    def has_little_warmth(self) -> bool:
        """Whether percentages are of more than shows (see `SMALLEST_WARMTH`)."""
        return self._own_warmth < self._least_warmth

    @cached_property
    def start_percent(self) -> float:
        """The warmth before toning; 100 on bare hair whose warmth shows. [%]"""
        return float(self.warmth_left_percent(self.start_lab))

    @property
    def coolest_percent(self) -> float | None:
        """The coolest that anybody asks of hair with little warmth; None on other hair. [%]"""
        if not self.has_little_warmth:
            return None
        return min(self.start_percent, 0.0) - COOLER_AT_MOST_PERCENT

    @cached_property
    def axis(self) -> Array:
        """Unit vector in (a*, b*) from natural hair to this hair's exposed warmth, (2,)."""
        excess = self.warm_lab[1:] - self.natural_ab(self.warm_lab[0])
        length = float(np.hypot(*excess))
        return excess / length if length > 1e-9 else np.array([0.0, 1.0])

    @cached_property
    def _across(self) -> Array:
        """Unit vector across `axis`, towards green, (2,)."""
        return np.array([-self.axis[1], self.axis[0]])

    def natural_ab(self, lightness: ArrayLike) -> Array:
        """Return a*, b* (..., 2) of natural hair of an L* (...); white hair is the lightest."""
        at, known = np.asarray(lightness, dtype=float), self.chart.natural_to_white
        return np.stack([np.interp(at, known[:, 0], known[:, k]) for k in (1, 2)], axis=-1)

    def warmth_left_percent(self, lab: ArrayLike) -> Array:
        """Return the warmth left, % of the hair's own warmth; below 0 is ash.

        `lab` (..., 3), result (...).
        """
        return np.asarray(100.0 * self._warmth(lab) / self.starting_warmth)

    def _warmth(self, lab: ArrayLike) -> Array:
        """Return the warmth of `lab` (..., 3) in units of a*b*, (...)."""
        excess = self._excess(lab)
        return np.asarray(excess @ self.axis + (excess @ self._across) ** 2 / FULL_CAST)

    def cast(self, lab: ArrayLike) -> Array:
        """Return how far `lab` (..., 3) lies across the warm direction, in units of a*b*.

        Positive is the greener side, negative the redder.
        """
        return np.asarray(self._excess(lab) @ self._across)

    def _excess(self, lab: ArrayLike) -> Array:
        """Return a*, b* (..., 2) beyond natural hair of the same L*."""
        values = np.asarray(lab, dtype=float)
        return np.asarray(values[..., 1:] - self.natural_ab(values[..., 0]))

    def level(self, lab: ArrayLike) -> Array:
        """Return the level of natural hair as dark, by L*; straight on past the chart."""
        return _read_scale(np.asarray(lab, dtype=float)[..., 0], self._natural[:, 0])

    def looks_level(self, lab: ArrayLike) -> Array:
        """Return the level of natural hair that looks as dark, by L**."""
        return _read_scale(perceived_lightness(lab), self._natural_looks)

    def levels_deeper_measured(self, lab: ArrayLike) -> Array:
        """Return by how many levels `lab` (..., 3) is darker than the start, by L*."""
        return self.level(self.start_lab) - self.level(lab)

    def levels_deeper_looks(self, lab: ArrayLike) -> Array:
        """Return by how many levels `lab` (..., 3) looks darker than the start, by L**."""
        return self.looks_level(self.start_lab) - self.looks_level(lab)

    def levels_deeper_at(self, looks_lightness: ArrayLike) -> Array:
        """Return by how many levels an L** (...) looks darker than the start."""
        scale = _read_scale(np.asarray(looks_lightness, dtype=float), self._natural_looks)
        return self.looks_level(self.start_lab) - scale

    @property
    def lightness_per_level(self) -> float:
        """The most L** that one level of the scale takes."""
        return float(np.diff(self._natural_looks).max() / 0.5)

    @property
    def lightness_of_a_level(self) -> float:
        """The L* that one level of the scale takes on average."""
        return float((self._natural[-1, 0] - self._natural[0, 0]) / (LEVELS[-1] - LEVELS[0]))

    @property
    def levels_per_lightness(self) -> float:
        """The most levels that one L** of the scale is."""
        return float(0.5 / np.diff(self._natural_looks).min())

    def lab_at(
        self, *, lightness: ArrayLike, warmth_percent: ArrayLike, cast: ArrayLike
    ) -> Array:
        """Return the L*a*b* with this lightness, warmth left and cast; arrays broadcast."""
        return self.colours_at(warmth_percent=warmth_percent, cast=cast)(lightness)

    def colours_at(
        self, *, warmth_percent: ArrayLike, cast: ArrayLike
    ) -> Callable[[ArrayLike], Array]:
        """Return what gives `lab_at` by the lightness alone; for a search that varies it."""
        warmth, across = np.broadcast_arrays(warmth_percent, cast)
        along = warmth / 100.0 * self.starting_warmth - across**2 / FULL_CAST
        by_axis = [(along * self.axis[k], across * self._across[k]) for k in (0, 1)]

        def lab(lightness: ArrayLike) -> Array:
            at, known = np.asarray(lightness, dtype=float), self.chart.natural_to_white
            found = np.empty((*np.broadcast_shapes(at.shape, along.shape), 3))
            found[..., 0] = at
            for k, (warm, green) in enumerate(by_axis, start=1):
                found[..., k] = np.interp(at, known[:, 0], known[:, k]) + warm + green
            return found

        return lab


def read_each(judges: Sequence[Judge], lab: ArrayLike) -> Array:
    """Return level, warmth left (%) and cast of `lab` (n, ..., 3), each read by its own judge.

    The same as their methods give, (n, ..., 3), in a few array operations for all.
    """
    values = np.asarray(lab, dtype=float)
    rows = (len(judges), *[1] * (values.ndim - 2))
    axis = np.array([judge.axis for judge in judges])
    scale = np.array([judge.starting_warmth for judge in judges]).reshape(rows)
    excess = values[..., 1:] - judges[0].natural_ab(values[..., 0])
    along = np.einsum("n...k,nk->n...", excess, axis)
    cast = np.einsum("n...k,nk->n...", excess, np.stack([-axis[:, 1], axis[:, 0]], axis=1))
    warmth = 100.0 * (along + cast**2 / FULL_CAST) / scale
    return np.stack([judges[0].level(values), warmth, cast], axis=-1)


def _read_scale(values: Array, scale: Array) -> Array:
    """Return the level at which the rising `scale` has each value, straight on at its ends."""
    level = np.interp(values, scale, LEVELS)
    top = (scale[-1] - scale[-2]) / 0.5
    bottom = (scale[1] - scale[0]) / 0.5
    level = np.where(values > scale[-1], LEVELS[-1] + (values - scale[-1]) / top, level)
    return np.where(values < scale[0], LEVELS[0] - (scale[0] - values) / bottom, level)
