"""The least depth that any deposit costs at each warmth, whatever its hue.

Two steps. Optimal colours, a whole grid of them, show where the best ones lie: every colour
on the surface of the solid of reachable colours comes from a reflectance that equals its
ceiling in one block of bands and 0 elsewhere, or the other way round (two transitions at
most: Schroedinger 1920). Around the best of either kind the cast is then varied ever more
finely, and for each cast the largest lightness inside the solid found by halving a bracket;
its upper end is taken, so the line errs on the light side.
"""

from functools import cached_property, lru_cache

import numpy as np

from formulas.engine.hair.appearance import Judge
from formulas.engine.light.colorimetry import lab_to_xyz, reflectance_to_lab
from formulas.engine.light.grid import BANDS, Array, Rows
from formulas.engine.limit.object_colours import Solid

_PER_BAND = 3
_NEAR = np.linspace(-1.0, 1.0, 9)
_CAST_WIDTHS = (2.0, 0.5)  # in units of a*b*, either way
_BRACKET = (2.0, 4.0)  # L* below and above the colour at hand
_HALVINGS = 11
# A colour made for a warmth reads as that warmth but for its last digits; without this the
# point would take the colour of the next cooler one, 0.03 levels deeper. [%]
_ROUNDING = 1e-6


def least_depths(judge: Judge, ceiling: Array, warmth: Array) -> tuple[Array, Array, Array]:
    """Return the least depth at each warmth or cooler.

    Parameters
    ----------
    judge : Judge
    ceiling : (31,) float array
        Reflectance before the deposit. [unitless]
    warmth : (n,) float array
        Warmth left, falling from the start's. [%]

    Returns
    -------
    looks, measured : (n,) float arrays
        Levels deeper, as it looks and by L*; each the least on its own. [levels]
    lab : (n, 3) float array
        The colour of the least depth as it looks.
    """
    lab = reflectance_to_lab(ceiling * blocks())
    kinds = [_Known(judge, half) for half in np.split(lab, 2)]
    seeds = np.stack(
        [kind.lab[kind.best(of, warmth)] for of in ("looks", "measured") for kind in kinds],
        axis=1,
    )
    found = _refined(judge, Solid(ceiling), warmth, seeds)
    # No deposit at all leaves the start: it stands on the line, whatever rounding says.
    every = _Known(judge, np.concatenate([seeds.reshape(-1, 3), found, judge.start_lab[None]]))
    every.at[-1] = warmth[0]  # before it is sorted
    best = every.best("looks", warmth)
    return every.looks[best], every.measured[every.best("measured", warmth)], every.lab[best]


class _Known:
    """Colours known to be reachable, and how they read."""

    def __init__(self, judge: Judge, lab: Array) -> None:
        self.lab = lab
        self.at = judge.warmth_left_percent(lab)
        self.looks = judge.levels_deeper_looks(lab)
        self.measured = judge.levels_deeper_measured(lab)

    @cached_property
    def _by_warmth(self) -> tuple[Rows, Array]:
        order = np.argsort(self.at, kind="stable")
        return order, self.at[order]

    def best(self, of: str, warmth: Array) -> Rows:
        """Return which colour is least deep among those at each warmth or cooler."""
        order, at = self._by_warmth
        depth = getattr(self, of)[order]
        is_best = depth <= np.minimum.accumulate(depth)
        so_far = np.maximum.accumulate(np.where(is_best, np.arange(len(order)), 0))
        place = np.searchsorted(at, warmth + _ROUNDING, side="right") - 1
        return np.asarray(order[so_far[np.maximum(place, 0)]])


@lru_cache(maxsize=1)
def blocks() -> Array:
    """Return optimal reflectances under a ceiling of 1, (n, 31), in thirds of bands.

    The first half is 1 in one block of bands and 0 elsewhere, the second the other way round.
    """
    edges = np.arange(0, BANDS * _PER_BAND + 1) / _PER_BAND
    first, last = np.triu_indices(len(edges), k=1)
    band = np.arange(BANDS)
    upper = np.minimum(edges[last][:, None], band + 1)
    inside = np.clip(upper - np.maximum(edges[first][:, None], band), 0.0, 1.0)
    return np.concatenate([inside, 1.0 - inside])


def _refined(judge: Judge, solid: Solid, warmth: Array, seeds: Array) -> Array:
    """Return the lightest colours around `seeds` (n, k, 3) at each warmth; NaN where none."""
    at = warmth[:, None, None]
    cast, light = judge.cast(seeds)[..., None], seeds[..., :1]
    some = slice(None, None, 6)
    wide = cast[some] + _CAST_WIDTHS[0] * _NEAR
    solid = solid.nearby(
        lab_to_xyz(
            np.concatenate(
                [
                    judge.lab_at(lightness=light[some] + up, warmth_percent=at[some], cast=wide)
                    for up in (-_BRACKET[0], 0.0, _BRACKET[1])
                ]
            )
        )
    )
    found = []
    for width in _CAST_WIDTHS:
        casts = cast + width * _NEAR
        lightest = _lightest(judge, solid, light, at, casts)
        lab = judge.lab_at(lightness=lightest, warmth_percent=at, cast=casts)
        depth = judge.levels_deeper_looks(lab)
        # The seeds' second half was chosen by L*, and so are its neighbours.
        half = depth.shape[1] // 2
        depth[:, half:] = judge.levels_deeper_measured(lab[:, half:])
        best = np.where(np.isnan(lightest), np.inf, depth).argmin(axis=-1)[..., None]
        cast = np.take_along_axis(casts, best, axis=-1)
        light = np.take_along_axis(np.where(np.isnan(lightest), light, lightest), best, axis=-1)
        found.append(lab)
    colours = np.concatenate(found, axis=-2).reshape(-1, 3)
    return colours[~np.isnan(colours[:, 0])]


def _lightest(judge: Judge, solid: Solid, light: Array, warmth: Array, cast: Array) -> Array:
    """Return the largest L* inside the solid near `light`; NaN where none fits."""

    lab_of = judge.colours_at(warmth_percent=warmth, cast=cast)
    low = np.broadcast_to(np.maximum(light - _BRACKET[0], 0.0), cast.shape)
    high = np.broadcast_to(np.minimum(light + _BRACKET[1], judge.start_lab[0]), cast.shape)
    some = np.zeros(cast.shape, dtype=bool)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        ok = solid.holds(lab_to_xyz(lab_of(middle)))
        some |= ok
        low, high = np.where(ok, middle, low), np.where(ok, high, middle)
    return np.where(some, high, np.nan)
