"""Mixes of four shades, or of up to eight parts: millions, exact by pruning.

Every mix is bounded, and only those that its bound does not prove beaten are read in full.
The bound: Kubelka and Munk's reflectance is a sum of decaying exponentials up to a known
relative error (`exponentials`), so the XYZ of all "pair times pair" mixes of a block are
one matrix product, each within that error. A mix whose best possible reading lies below the
floor that mixes already found have raised (`frontier.Floor`) is beaten for certain.

Beside the frontier, mixes up to `SLACK_LEVELS` below it are kept, so that a short list can
be ranked from them: nobody wants one that looks deeper than it need be.
"""

from collections.abc import Iterable, Iterator

import numpy as np

from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.reading import FastReader
from formulas.engine.light.exponentials import ExponentialSum, exponential_sum
from formulas.engine.light.grid import Array, Flags, Rows, Single, weights, white
from formulas.engine.search.frontier import Floor, Pool
from formulas.engine.search.sweep import most_rows as sweep_rows
from formulas.engine.search.sweep import sweep
from formulas.engine.toner.deposit import Bed
from formulas.engine.toner.mixes import MixSpace, Pattern

SLACK_LEVELS = 0.2


class Kept:
    """Collects the mixes that a floor lets pass, and at the end drops the late fallen."""

    def __init__(self, floor: Floor, slack: float) -> None:
        self.floor = floor
        self.slack = slack
        self.seen = 0
        self._parts: list[tuple[Rows, Single, Single]] = []

    def take(self, start: int, warmth: Single, lightness: Single) -> None:
        """Take what passes of the rows from `start` on; -inf in `lightness` never does."""
        self.seen += int(np.count_nonzero(lightness > -np.inf))
        here = self.floor.take(warmth, lightness, self.slack)
        self._parts.append((start + here, warmth[here], lightness[here]))

    def take_all(self, blocks: Iterable[tuple[int, Single, Single]]) -> None:
        """Take what passes of each block; see `take`."""
        for block in blocks:
            self.take(*block)

    def all(self) -> tuple[Rows, Single, Single]:
        """Return rows, warmth and L** of all that still pass."""
        rows, warmth, lightness = (
            np.concatenate([part[n] for part in self._parts]) for n in range(3)
        )
        last = self.floor.passing(warmth, lightness, self.slack)
        return rows[last], warmth[last], lightness[last]


def keep_unbeaten(
    bed: Bed,
    judge: Judge,
    space: MixSpace,
    *,
    slack: float,
    share: Array | None,
    coolest: float | None = None,
) -> Pool:
    """Return the mixes of a space that are not beaten for certain, and those just below.

    Parameters
    ----------
    bed : Bed
    judge : Judge
    space : MixSpace
        Of up to four shades.
    slack : float
        How far below the frontier mixes are kept. [L**]
    share : (n,) float array or None
        Stock of each shade as a share of a bowl's colour.
    coolest : float or None
        Cooler mixes are left out. [%]
    """
    small = MixSpace(space.count, max_shades=3, max_parts=space.max_parts)
    reader = FastReader(judge, max(most_rows(space), sweep_rows(space.count)))
    warmth, lightness = sweep(bed, small, reader, share)
    total = _exponentials(bed)
    # The strongest cast of four shades is not known yet: assume, and check afterwards.
    widest = 1.1 * reader.widest_cast + 1.0
    while True:
        tolerance = reader.tolerance(relative=total.error, widest=widest)
        floor = Floor(float(warmth.min()), float(warmth.max()), tolerance, coolest)
        kept = Kept(floor, slack)
        kept.take(0, warmth, lightness)
        for pattern in space.patterns:
            if len(pattern.parts) == 4:
                kept.take_all(_Four(bed, space, pattern, total, share).read(reader))
        if reader.widest_cast <= widest:
            return Pool(kept.seen, *kept.all(), tolerance)
        widest = reader.widest_cast  # pragma: no cover - four lean no further than three


def most_rows(space: MixSpace) -> int:
    """Return the most rows that one block of four shades holds."""
    return int((np.arange(space.count) * space.tails).max(initial=1))


def _exponentials(bed: Bed) -> ExponentialSum:
    """Return the sum for every K/S that a mix on this bed can have."""
    low = float(bed.base_ks.min())
    high = float((bed.base_ks[:, None] + bed.uptake[:, None, None] * bed.loads).max())
    # Rounded outwards, so that like beds share one sum.
    return exponential_sum(2.0 ** np.floor(np.log2(low * 0.999)), 2.0 ** np.ceil(np.log2(high)))


class _Four:
    """All mixes of four shades in one pattern of parts."""

    def __init__(
        self,
        bed: Bed,
        space: MixSpace,
        pattern: Pattern,
        total: ExponentialSum,
        share: Array | None,
    ) -> None:
        fractions = np.array(pattern.parts) / sum(pattern.parts)
        # One column for each kind of fibre, band and rate.
        rates = bed.uptake[:, None, None] * total.rates
        passes = [
            np.exp(-(part * bed.loads)[:, None, :, None] * rates).reshape(space.count, -1)
            for part in fractions
        ]
        base = total.weights * np.exp(-bed.base_ks[:, :, None] * total.rates)
        base *= bed.shares[:, None, None]
        seen = ((weights() / white()).T[:, None, :, None] * base).reshape(3, 1, -1)
        self.space, self.start = space, pattern.start
        # Left pairs by where they end, so that those ending at one shade are neighbours.
        self.order = np.lexsort((space.first, space.second))
        left = (passes[0][space.first] * passes[1][space.second])[self.order]
        self.left = (seen * left).astype(np.float32)
        self.right = (passes[2][space.first] * passes[3][space.second]).astype(np.float32)
        self.short = None if share is None else [part > share + 1e-9 for part in fractions]

    def read(self, reader: FastReader) -> Iterator[tuple[int, Single, Single]]:
        """Yield (first row, warmth, L**) by blocks: pairs up to a shade, pairs after it."""
        most = most_rows(self.space)
        xyz = np.empty(3 * most, np.float32)
        warmth, lightness = np.empty(most, np.float32), np.empty(most, np.float32)
        start = self.start
        for joint in range(1, self.space.count - 2):
            ending = slice(joint * (joint - 1) // 2, joint * (joint + 1) // 2)
            tail = len(self.right) - int(self.space.tails[joint])
            rows = joint * int(self.space.tails[joint])
            block = self.left[:, ending].reshape(3 * joint, -1)
            out = xyz[: 3 * rows].reshape(3 * joint, -1)
            np.matmul(block, self.right[tail:].T, out=out)
            w, light = warmth[:rows], lightness[:rows]
            reader.read(out.reshape(3, rows), w, light)
            if self.short is not None:
                light[self._too_little(self.short, ending, tail)] = -np.inf
            yield start, w, light
            start += rows

    def _too_little(self, short: list[Flags], ending: slice, tail: int) -> Flags:
        """Return which mixes of a block ask for more than the stock holds, (rows,)."""
        first, second = self.space.first, self.space.second
        pairs = self.order[ending]
        left = short[0][first[pairs]] | short[1][second[pairs]]
        right = short[2][first[tail:]] | short[3][second[tail:]]
        return np.asarray((left[:, None] | right).ravel())
