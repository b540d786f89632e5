"""Every mix of up to three shades in whole parts up to six in all: exact, no sampling.

Only primitive ratios are counted (1:1 and 2:2 are one mix): 669,710 mixes for 60 shades.

How it stays fast: K/S is additive, so for each pattern of parts the sums over pairs are
laid out once, and a block "first shade + all later pairs" is one broadcast addition into
a buffer that stays in cache. Single precision finds the candidates, double precision
decides among them, so the answer is that of `predict`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import gcd
from typing import TYPE_CHECKING

import numpy as np

from formulas.engine import checks
from formulas.engine.appearance import Judge
from formulas.engine.chart import Chart
from formulas.engine.colorimetry import lab_to_hex, reflectance_to_lab
from formulas.engine.deposit import Bed, prepare
from formulas.engine.grid import Array, Flags, Rows, Single, weights, white
from formulas.engine.hair import Zone
from formulas.engine.kubelka_munk import to_reflectance
from formulas.engine.limit import LimitCurve, limit_of
from formulas.engine.lines import Line
from formulas.engine.prediction import judge_of
from formulas.engine.reading import FastReader

if TYPE_CHECKING:
    from formulas.engine.ranking import Ranked

MOST_SHADES = 3
MOST_PARTS = 8


@dataclass(frozen=True)
class Candidate:
    """One mix and how it reads.

    Attributes
    ----------
    parts : tuple of (shade name, whole parts), by name
    warmth_left_percent, levels_deeper_measured, levels_deeper_looks, cast : float
        See `Prediction`.
    lab : tuple of 3 float
    """

    parts: tuple[tuple[str, int], ...]
    warmth_left_percent: float
    levels_deeper_measured: float
    levels_deeper_looks: float
    cast: float
    lab: tuple[float, float, float]

    @property
    def hex(self) -> str:
        """Screen colour, dry."""
        return lab_to_hex(self.lab)


@dataclass(frozen=True, eq=False)
class SearchResult:
    """All mixes of a line on a zone, read once; aims are ranked from it at will.

    Attributes
    ----------
    evaluated : int
        How many mixes were read.
    frontier : tuple of Candidate
        No other mix is both cooler and lighter; warmest first.
    curve : LimitCurve
    """

    evaluated: int
    frontier: tuple[Candidate, ...]
    curve: LimitCurve
    bed: Bed
    judge: Judge
    space: "MixSpace"
    warmth: Single
    lightness: Single
    grams_per_fraction: float
    stock: Mapping[str, float] | None
    prices: Mapping[str, float] | None

    def rank(self, aims: Sequence[float], k: int = 5) -> "list[list[Ranked]]":
        """Return the `k` best mixes for each aim; see `ranking.rank`."""
        from formulas.engine.ranking import rank

        return rank(self, aims, k=k)

    def read(self, rows: Rows) -> list[Candidate]:
        """Return candidates of row numbers, in double precision, in the same order."""
        return read_rows(self.bed, self.judge, self.space, rows)


@dataclass(frozen=True)
class Pattern:
    """Parts of one, two or three shades, and where its rows begin."""

    parts: tuple[int, ...]
    start: int
    rows: int


class MixSpace:
    """The numbering of all primitive mixes of n shades."""

    def __init__(self, count: int, *, max_shades: int, max_parts: int) -> None:
        self.count = count
        self.first, self.second = np.triu_indices(count, k=1)
        self.patterns: list[Pattern] = []
        start = 0
        for shades in range(1, min(max_shades, count) + 1):
            rows = [count, len(self.first), count * (count - 1) * (count - 2) // 6][shades - 1]
            for parts in primitive_patterns(shades, max_parts):
                self.patterns.append(Pattern(parts, start, rows))
                start += rows
        self.size = start

    def pair_from(self, i: int) -> int:
        """Return the place of the first pair (j, k) with j > i."""
        n = self.count
        done = i + 1
        return done * (n - 1) - done * (done - 1) // 2

    @cached_property
    def _block_starts(self) -> Rows:
        """Row, within a pattern of three, where each first shade's block begins."""
        sizes = [len(self.first) - self.pair_from(i) for i in range(self.count - 2)]
        return np.concatenate([[0], np.cumsum(sizes)])

    def decode(self, row: int) -> tuple[tuple[int, int], ...]:
        """Return ((shade index, parts), ...) of a row number."""
        pattern = next(p for p in reversed(self.patterns) if p.start <= row)
        offset = row - pattern.start
        if len(pattern.parts) == 1:
            return ((offset, pattern.parts[0]),)
        if len(pattern.parts) == 2:
            pair = (int(self.first[offset]), int(self.second[offset]))
            return tuple(zip(pair, pattern.parts, strict=True))
        i = int(np.searchsorted(self._block_starts, offset, side="right")) - 1
        at = self.pair_from(i) + offset - int(self._block_starts[i])
        triple = (i, int(self.first[at]), int(self.second[at]))
        return tuple(zip(triple, pattern.parts, strict=True))

    def fractions(self, rows: Rows) -> Array:
        """Return weight fractions (len(rows), n)."""
        table = np.zeros((len(rows), self.count))
        for at, row in enumerate(rows):
            mix = self.decode(int(row))
            whole = sum(parts for _, parts in mix)
            for shade, parts in mix:
                table[at, shade] = parts / whole
        return table


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


def search(
    zone: Zone,
    line: Line,
    *,
    minutes: float | None = None,
    max_shades: int = 3,
    max_parts: int = 6,
    grams_in_stock: Mapping[str, float] | None = None,
    bowl_grams: float = 60.0,
    price_per_gram: Mapping[str, float] | None = None,
    chart: Chart | None = None,
    strengths: Mapping[str, float] | None = None,
) -> SearchResult:
    """Return every mix of the line on a zone, read, with its frontier and limit.

    Parameters
    ----------
    zone : Zone
    line : Line
    minutes : float, optional
        Processing time. [min]
    max_shades : int
        1 to 3. [count]
    max_parts : int
        Whole parts in all, 1 to 8. [count]
    grams_in_stock : mapping of shade name to grams, optional
        Only mixes that the stock can fill; a shade not named there is not in stock. [g]
    bowl_grams : float
        Colour and developer together. [g]
    price_per_gram : mapping of shade name to price, optional
        Breaks ties; any currency.
    chart, strengths : optional
        See `deposit.prepare`.

    Returns
    -------
    SearchResult

    Raises
    ------
    ValueError
        If a number is out of range, or the stock fills no mix at all.
    """
    max_shades = checks.whole(max_shades, name="max_shades", low=1, high=MOST_SHADES)
    max_parts = checks.whole(max_parts, name="max_parts", low=1, high=MOST_PARTS)
    bowl = checks.number(bowl_grams, name="bowl_grams", unit="g", low=1, high=1000)
    chart = chart or Chart.default()
    colour_grams = bowl / (1.0 + line.developer_ratio)
    usable = _in_stock(line, grams_in_stock, colour_grams, max_parts)
    bed = prepare(zone, usable, minutes=minutes, chart=chart, strengths=strengths)
    judge = judge_of(bed, chart)
    space = MixSpace(len(usable.shades), max_shades=max_shades, max_parts=max_parts)
    share = None
    if grams_in_stock is not None:
        share = np.array([grams_in_stock[name] / colour_grams for name in bed.names])
    reader = FastReader(judge)
    warmth, lightness = _read_all(bed, space, reader, share)
    rows = _frontier_rows(bed, judge, space, warmth, lightness)
    result = SearchResult(
        evaluated=space.size,
        frontier=tuple(read_rows(bed, judge, space, rows)),
        curve=limit_of(judge, to_reflectance(bed.base_ks)),
        bed=bed,
        judge=judge,
        space=space,
        warmth=warmth,
        lightness=lightness,
        grams_per_fraction=colour_grams,
        stock=grams_in_stock,
        prices=price_per_gram,
    )
    return result


def _in_stock(
    line: Line, stock: Mapping[str, float] | None, colour_grams: float, max_parts: int
) -> Line:
    """Return the line, by name, without shades too short for even one part of many."""
    smallest = colour_grams / max_parts
    shades = sorted(
        (s for s in line.shades if stock is None or stock.get(s.name, 0.0) >= smallest),
        key=lambda shade: shade.name,
    )
    if not shades:
        raise ValueError(
            f"grams_in_stock [g]: no shade of {line.name} has the {smallest:.1f} g "
            "that the smallest part of a bowl needs"
        )
    return replace(line, shades=tuple(shades))


def _read_all(
    bed: Bed, space: MixSpace, reader: FastReader, share: Array | None
) -> tuple[Single, Single]:
    """Return warmth left (%) and L** of every mix, single precision, NaN where left out."""
    loads = bed.loads.astype(np.float32)
    base = (bed.base_ks + 1.0).astype(np.float32)  # m = K/S + 1, R = m - sqrt(m^2 - 1)
    projection = (weights() / white()).astype(np.float32)
    warmth = np.empty(space.size, np.float32)
    lightness = np.empty(space.size, np.float32)
    for pattern in space.patterns:
        scaled = [np.float32(part / sum(pattern.parts)) * loads for part in pattern.parts]
        end = pattern.start + pattern.rows
        for rows, mixed in _blocks(space, pattern, scaled, base):
            root = mixed * mixed
            root -= 1.0
            np.sqrt(root, out=root)
            np.subtract(mixed, root, out=mixed)
            here = slice(pattern.start + rows.start, pattern.start + rows.stop)
            reader.read(mixed @ projection, warmth[here], lightness[here])
        if share is not None:
            short = _too_little(space, pattern, share)
            warmth[pattern.start : end][short] = np.nan
    return warmth, lightness


_BLOCK_ROWS = 4096


def _blocks(
    space: MixSpace, pattern: Pattern, scaled: list[Single], base: Single
) -> Iterator[tuple[slice, Single]]:
    """Yield (row slice within the pattern, K/S + 1 of those rows)."""
    if len(pattern.parts) == 1:
        yield slice(0, pattern.rows), scaled[0] + base
        return
    pairs = scaled[-2][space.first] + scaled[-1][space.second]
    if len(pattern.parts) == 2:
        for at in range(0, pattern.rows, _BLOCK_ROWS):
            rows = slice(at, min(at + _BLOCK_ROWS, pattern.rows))
            yield rows, pairs[rows] + base
        return
    buffer = np.empty((_BLOCK_ROWS + len(pairs), pairs.shape[1]), np.float32)
    filled, at = 0, 0
    for i in range(space.count - 2):
        tail = pairs[space.pair_from(i) :]
        np.add(tail, scaled[0][i] + base, out=buffer[filled : filled + len(tail)])
        filled += len(tail)
        if filled >= _BLOCK_ROWS or i == space.count - 3:
            yield slice(at, at + filled), buffer[:filled]
            at, filled = at + filled, 0


def _too_little(space: MixSpace, pattern: Pattern, share: Array) -> Flags:
    """Return which rows of a pattern ask for more of a shade than the stock holds."""
    whole = sum(pattern.parts)
    short = [part / whole > share + 1e-9 for part in pattern.parts]
    if len(pattern.parts) == 1:
        return short[0]
    pairs = short[-2][space.first] | short[-1][space.second]
    if len(pattern.parts) == 2:
        return pairs
    return np.concatenate(
        [short[0][i] | pairs[space.pair_from(i) :] for i in range(space.count - 2)]
    )


def read_rows(bed: Bed, judge: Judge, space: MixSpace, rows: Rows) -> list[Candidate]:
    """Return candidates of row numbers in double precision."""
    rows = np.asarray(rows, dtype=np.int64)
    if not len(rows):
        return []
    lab = reflectance_to_lab(to_reflectance(bed.mixture_ks(space.fractions(rows))))
    warmth, cast = judge.warmth_left_percent(lab), judge.cast(lab)
    measured, looks = judge.levels_deeper_measured(lab), judge.levels_deeper_looks(lab)
    return [
        Candidate(
            tuple((bed.names[shade], parts) for shade, parts in space.decode(int(row))),
            float(warmth[n]),
            float(measured[n]),
            float(looks[n]),
            float(cast[n]),
            (float(lab[n, 0]), float(lab[n, 1]), float(lab[n, 2])),
        )
        for n, row in enumerate(rows)
    ]


_BINS_PER_PERCENT = 4
_SLACK = 0.02  # L** units: far above the error of single precision


def _frontier_rows(
    bed: Bed, judge: Judge, space: MixSpace, warmth: Single, lightness: Single
) -> Rows:
    """Return the rows that no other row beats in both warmth and lightness, warmest first."""
    valid = np.flatnonzero(~np.isnan(warmth))
    if not len(valid):
        return valid
    w, light = warmth[valid], lightness[valid]
    coolest = w.min()
    bins = ((w - coolest) * _BINS_PER_PERCENT).astype(np.int32)
    best = np.full(bins.max() + 2, -np.inf, np.float32)
    np.maximum.at(best, bins, light)
    cooler = np.concatenate([[-np.inf], np.maximum.accumulate(best)[:-1]]).astype(np.float32)
    survivors = valid[light >= cooler[bins] - _SLACK]
    found = read_rows(bed, judge, space, survivors)
    exact = np.array([[c.warmth_left_percent, c.levels_deeper_looks] for c in found])
    # Coolest first; among equals the lighter, then fewer shades, then by name.
    keys = [
        (
            round(c.warmth_left_percent, 9),
            round(c.levels_deeper_looks, 9),
            len(c.parts),
            c.parts,
        )
        for c in found
    ]
    order = sorted(range(len(found)), key=keys.__getitem__)
    kept, lightest = [], np.inf
    for n in order:
        if exact[n, 1] < lightest - 1e-9:
            kept.append(survivors[n])
            lightest = exact[n, 1]
    return np.array(kept[::-1], dtype=np.int64)
