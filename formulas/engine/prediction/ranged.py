"""A number with its honest range."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

import numpy as np

T = TypeVar("T")

COVERAGE = 2.0  # two standard doubts: about 95 % where the doubts are normal


@dataclass(frozen=True)
class Ranged(Generic[T]):
    """A value and the range that it lies in about nineteen times of twenty.

    `value`, `low` and `high` have the same shape; low <= value <= high.
    """

    value: T
    low: T
    high: T

    def at(self, place: int) -> "Ranged[Any]":
        """Return the range at one place of arrays (n, ...)."""
        value, low, high = (np.asarray(n)[place] for n in (self.value, self.low, self.high))
        if value.ndim == 0:
            return Ranged(float(value), float(low), float(high))
        return Ranged(value, low, high)

    @classmethod
    def from_pairs(
        cls, value: Any, pairs: Sequence[Sequence[Any]], *, more: Any = 0.0, factor: float = 1.0
    ) -> "Ranged[Any]":
        """Return the range that one-at-a-time changes span, added in quadrature.

        Parameters
        ----------
        value : float or array
        pairs : sequence of (result with the input lower, result with the input higher)
            Each input moved by one standard doubt. The doubts are taken as independent.
        more : float or array
            A further standard doubt, on either side.
        factor : float
            On the whole range. [unitless]

        References
        ----------
        .. [1] JCGM 100:2008 (GUM), section 5.1: combined standard uncertainty, here kept
           apart for either side.
        """
        middle = np.asarray(value, dtype=float)
        changes = np.asarray(pairs, dtype=float) - middle
        own = np.asarray(more, dtype=float) ** 2
        down = np.sqrt((np.minimum(changes.min(axis=1), 0.0) ** 2).sum(axis=0) + own)
        up = np.sqrt((np.maximum(changes.max(axis=1), 0.0) ** 2).sum(axis=0) + own)
        wide = COVERAGE * factor
        low, high = middle - wide * down, middle + wide * up
        if middle.ndim == 0:
            return cls(float(middle), float(low), float(high))  # type: ignore[arg-type]
        return cls(middle, low, high)  # type: ignore[arg-type]
