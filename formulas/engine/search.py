"""Every mix of up to three shades in whole parts up to six in all: exact, no sampling.

Only primitive ratios are counted (1:1 and 2:2 are one mix): 669,710 mixes for 60 shades.
Single precision finds the mixes that may lead (`sweep`), double precision decides among
them (`frontier`), so the answer is that of `predict`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from formulas.engine import checks
from formulas.engine.appearance import Judge
from formulas.engine.candidates import Candidate, candidates, read_rows
from formulas.engine.chart import Chart
from formulas.engine.deposit import Bed, prepare
from formulas.engine.frontier import leading, may_lead
from formulas.engine.grid import Array, Rows, Single
from formulas.engine.hair import Zone
from formulas.engine.kubelka_munk import to_reflectance
from formulas.engine.limit import LimitCurve, limit_of
from formulas.engine.lines import Line
from formulas.engine.mixes import MixSpace
from formulas.engine.prediction import judge_of
from formulas.engine.reading import FastReader
from formulas.engine.sweep import most_rows, sweep, too_little

if TYPE_CHECKING:
    from formulas.engine.ranking import Ranked

MOST_SHADES = 3
MOST_PARTS = 8


@dataclass(frozen=True, eq=False)
class Pool:
    """Mixes at hand for ranking: row numbers, how they read, and how far that can be off."""

    rows: Rows
    warmth: Single
    lightness: Single
    tolerance: tuple[float, float]


@dataclass(frozen=True, eq=False)
class SearchResult:
    """All mixes of a line on a zone, read once; aims are ranked from it at will.

    Attributes
    ----------
    evaluated : int
        How many mixes were read: all that the stock can fill.
    frontier : tuple of Candidate
        No other mix is both cooler and lighter; warmest first.
    curve : LimitCurve
    colour_grams : float
        Colour in one bowl, without developer. [g]
    stock, prices : mapping of shade name to grams and to price per gram, or None
    """

    evaluated: int
    frontier: tuple[Candidate, ...]
    curve: LimitCurve
    bed: Bed
    judge: Judge
    space: MixSpace
    pool: Pool
    colour_grams: float
    stock: Mapping[str, float] | None
    prices: Mapping[str, float] | None

    def read(self, rows: Rows) -> list[Candidate]:
        """Return the mixes of row numbers (n,), in the same order."""
        readings = read_rows(self.bed, self.judge, self.space, rows)
        return candidates(readings, self.bed.names, self.space)

    def rank(self, aims: Sequence[float], k: int = 5) -> "list[list[Ranked]]":
        """Return the `k` best mixes for each aim; see `ranking.rank`."""
        from formulas.engine.ranking import rank

        return rank(self, aims, k=k)


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
        The same for every order of the line's shades.

    Raises
    ------
    ValueError
        If a number is out of range, the line has only clear, or the stock fills no mix.
    """
    max_shades = checks.whole(max_shades, name="max_shades", low=1, high=MOST_SHADES)
    max_parts = checks.whole(max_parts, name="max_parts", low=1, high=MOST_PARTS)
    bowl = checks.number(bowl_grams, name="bowl_grams", unit="g", low=1, high=1000)
    for name, of in (("grams_in_stock", grams_in_stock), ("price_per_gram", price_per_gram)):
        check_by_shade(of, name=name)
    chart = chart or Chart.default()
    colour_grams = bowl / (1.0 + line.developer_ratio)
    usable = in_stock(line, grams_in_stock, colour_grams, max_parts)
    bed = prepare(zone, usable, minutes=minutes, chart=chart, strengths=strengths)
    judge = judge_of(bed, chart)
    space = MixSpace(len(usable.shades), max_shades=max_shades, max_parts=max_parts)
    reader = FastReader(judge, most_rows(space.count))
    warmth, lightness = sweep(bed, space, reader)
    if grams_in_stock is not None:
        _leave_out_short(warmth, space, bed, grams_in_stock, colour_grams)
    rows = may_lead(warmth, lightness, reader.tolerance)
    found = candidates(read_rows(bed, judge, space, rows), bed.names, space)
    return SearchResult(
        evaluated=int(len(warmth) - np.isnan(warmth).sum()),
        frontier=tuple(leading(found)),
        curve=limit_of(judge, to_reflectance(bed.base_ks)),
        bed=bed,
        judge=judge,
        space=space,
        pool=Pool(np.arange(space.size), warmth, lightness, reader.tolerance),
        colour_grams=colour_grams,
        stock=grams_in_stock,
        prices=price_per_gram,
    )


def in_stock(
    line: Line, stock: Mapping[str, float] | None, colour_grams: float, max_parts: int
) -> Line:
    """Return the line, by name, without shades too short for even one part of many.

    Raises
    ------
    ValueError
        If nothing is left, or nothing but clear.
    """
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
    if all(shade.is_clear for shade in shades):
        raise ValueError(
            f"shades of {line.name}: only clear to mix with, given "
            f"{', '.join(line.names)}; a toner needs at least one shade with pigment"
        )
    return replace(line, shades=tuple(shades))


def check_by_shade(values: Mapping[str, float] | None, *, name: str) -> None:
    """Raise ValueError where a mapping by shade holds a negative or infinite number."""
    for shade, value in (values or {}).items():
        checks.number(value, name=f"{name}[{shade!r}]", unit="by gram", low=0, high=1e9)


def bowl_share(bed: Bed, stock: Mapping[str, float], colour_grams: float) -> Array:
    """Return how much of one bowl's colour each shade's stock can be, (n,), 1 for a bowl."""
    return np.array([stock[name] / colour_grams for name in bed.names])


def _leave_out_short(
    warmth: Single, space: MixSpace, bed: Bed, stock: Mapping[str, float], colour_grams: float
) -> None:
    share = bowl_share(bed, stock, colour_grams)
    if share.min() >= 1.0:
        return
    for pattern in space.patterns:
        end = pattern.start + pattern.rows
        warmth[pattern.start : end][too_little(space, pattern, share)] = np.nan
    if np.isnan(warmth).all():
        raise ValueError(
            f"grams_in_stock [g]: no mix fills the {colour_grams:.1f} g of colour in a bowl, "
            f"given {dict(stock)}"
        )
