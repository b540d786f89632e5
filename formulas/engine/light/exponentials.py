"""Kubelka and Munk's reflectance as a sum of decaying exponentials.

R(k) = 1 + k - sqrt(k^2 + 2k) is completely monotone (it is the Laplace transform of
exp(-t) I1(t) / t, a positive function), so a short sum with positive weights comes close to
it over any range of k. What it buys: exp(-s (a + b)) = exp(-s a) exp(-s b), so the
reflectance of a mixture falls apart into what its halves let through, and all pairs of
halves are one matrix product.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_reflectance

CLOSE_ENOUGH = 2e-5
_SAMPLES = 600
_CHECKS = 20000


@dataclass(frozen=True, eq=False)
class ExponentialSum:
    """R(k) is within `error` of sum(weights * exp(-rates * k)), in proportion to R.

    Attributes
    ----------
    rates, weights : (n,) float arrays, positive. [unitless]
    error : float
        Largest relative error over the range it was fitted for. [unitless]
    """

    rates: Array
    weights: Array
    error: float


@lru_cache(maxsize=32)
def exponential_sum(low: float, high: float) -> ExponentialSum:
    """Return a sum for K/S from `low` to `high`, as short as `CLOSE_ENOUGH` allows.

    Raises
    ------
    ValueError
        If the range is not 0 < low < high.
    """
    if not 0.0 < low < high < np.inf:
        raise ValueError(f"low and high [K/S] must be 0 < low < high, given {low} and {high}")
    from scipy.optimize import nnls  # takes longer to import than all of the engine

    k = np.geomspace(low, high, _SAMPLES)
    for count in range(8, 40, 2):
        rates = np.geomspace(0.3 / high, 6.0 / low, count)
        table = np.exp(-np.outer(k, rates)) / to_reflectance(k)[:, None]
        weights, _ = nnls(table, np.ones(_SAMPLES), maxiter=100 * count)
        used = weights > 0
        found = ExponentialSum(
            rates[used], weights[used], _error(rates[used], weights[used], low, high)
        )
        if found.error <= CLOSE_ENOUGH:
            break
    return found


def _error(rates: Array, weights: Array, low: float, high: float) -> float:
    """Return the largest relative error: at many points, and half a step of change between."""
    k = np.geomspace(low, high, _CHECKS)
    ratio = np.exp(-np.outer(k, rates)) @ weights / to_reflectance(k) - 1.0
    return float(np.abs(ratio).max() + np.abs(np.diff(ratio)).max() / 2.0)
