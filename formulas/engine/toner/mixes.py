"""The numbering of all mixes: up to four shades in whole parts, primitive ratios only.

1:1 and 2:2 are one mix, so a pattern of parts counts only without a common divisor. Rows
run pattern by pattern; within a pattern, shades rise.
"""

from dataclasses import dataclass
from functools import cached_property
from math import comb, gcd

import numpy as np

from formulas.engine.light.grid import Array, Rows

MOST_SHADES = 4


@dataclass(frozen=True)
class Pattern:
    """Parts of one to four shades, and where its rows begin."""

    parts: tuple[int, ...]
    start: int
    rows: int


class MixSpace:
    """All primitive mixes of `count` shades.

    Parameters
    ----------
    count, max_shades, max_parts : int
        Shades to choose from, and the most shades and whole parts in one mix.
    """

    def __init__(self, count: int, *, max_shades: int, max_parts: int) -> None:
        self.count = count
        self.max_parts = max_parts
        self.most = min(max_shades, count)  # shades in one mix
        self.first, self.second = np.triu_indices(count, k=1)
        self.patterns: list[Pattern] = []
        start = 0
        for shades in range(1, self.most + 1):
            rows = comb(count, shades)
            for parts in primitive_patterns(shades, max_parts):
                self.patterns.append(Pattern(parts, start, rows))
                start += rows
        self.size = start
        self._starts = np.array([pattern.start for pattern in self.patterns])

    def pair_from(self, shade: int) -> int:
        """Return the place of the first pair whose first shade is `shade`."""
        return shade * (self.count - 1) - shade * (shade - 1) // 2

    @cached_property
    def tails(self) -> Rows:
        """How many pairs begin after each shade."""
        after = self.count - 1 - np.arange(self.count)
        return np.asarray(after * (after - 1) // 2)

    def decode(self, rows: Rows) -> tuple[Rows, Rows]:
        """Return shades (n, 4), -1 where there is none, and parts (n, 4) of row numbers."""
        rows = np.asarray(rows, dtype=np.int64)
        shades = np.full((len(rows), MOST_SHADES), -1, dtype=np.int64)
        parts = np.zeros((len(rows), MOST_SHADES), dtype=np.int64)
        which = np.searchsorted(self._starts, rows, side="right") - 1
        for at in np.unique(which):
            pattern, mine = self.patterns[at], which == at
            used = len(pattern.parts)
            parts[mine, :used] = pattern.parts
            shades[mine, :used] = self._shades(used, rows[mine] - pattern.start)
        return shades, parts

    def _shades(self, used: int, offset: Rows) -> Rows:
        if used == 1:
            return offset[:, None]
        if used == 2:
            return np.stack([self.first[offset], self.second[offset]], axis=-1)
        # A block: everything left of the last but two shades, times the pairs after it.
        left = np.arange(self.count) if used == 4 else np.ones(self.count, dtype=np.int64)
        starts = np.concatenate([[0], np.cumsum(left * self.tails)])
        joint = np.searchsorted(starts, offset, side="right") - 1
        head, tail = np.divmod(offset - starts[joint], self.tails[joint])
        # The pairs that begin after a shade stand at the end of the list of pairs.
        pair = len(self.first) - self.tails[joint] + tail
        columns = [joint, self.first[pair], self.second[pair]]
        return np.stack([head, *columns] if used == 4 else columns, axis=-1)

    def fractions(self, rows: Rows) -> Array:
        """Return weight fractions (len(rows), count)."""
        return self.fractions_of(*self.decode(rows))

    def fractions_of(self, shades: Rows, parts: Rows) -> Array:
        """Return the same from what `decode` gives."""
        table = np.zeros((len(shades), self.count))
        row, column = np.nonzero(shades >= 0)
        table[row, shades[row, column]] = parts[row, column]
        return np.asarray(table / np.maximum(parts.sum(axis=1, keepdims=True), 1))


def primitive_patterns(shades: int, max_parts: int) -> list[tuple[int, ...]]:
    """Return every ordered split into `shades` positive whole parts with no common divisor."""
    if shades == 1:
        return [(1,)]
    splits: list[tuple[int, ...]] = [()]
    for left in range(shades, 0, -1):
        splits = [
            (*head, part)
            for head in splits
            for part in range(1, max_parts - sum(head) - (left - 1) + 1)
        ]
    return [split for split in splits if gcd(*split) == 1]
