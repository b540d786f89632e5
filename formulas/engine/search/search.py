"""Every mix of up to three shades in whole parts up to six in all: exact, no sampling.

Only primitive ratios are counted (1:1 and 2:2 are one mix): 669,710 mixes for 60 shades.
Single precision finds the mixes that may lead (`sweep`), double precision decides among
them (`frontier`), so the answer is that of `predict`. Four shades (8 million mixes and more)
go the way of `pruned`, which is exact as well.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from formulas.engine import checks
from formulas.engine.checks import EngineRefusal
from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.chart import Chart
from formulas.engine.hair.reading import FastReader
from formulas.engine.light.grid import Array, Rows
from formulas.engine.limit.limit import LimitCurve, limit_of
from formulas.engine.prediction.candidates import Candidate, candidates, read_rows
from formulas.engine.prediction.numbers import judge_of
from formulas.engine.search import pruned
from formulas.engine.search.frontier import Pool, leading, may_lead
from formulas.engine.search.sweep import most_rows, sweep
from formulas.engine.toner.deposit import Bed, prepare
from formulas.engine.toner.lines import Line
from formulas.engine.toner.mixes import MOST_SHADES, MixSpace
from formulas.engine.toner.zone import Zone

MOST_PARTS = 8


@dataclass(frozen=True, eq=False)
class SearchResult:
    """All mixes of a line on a zone, read once; aims are ranked from it at will.

    Attributes
    ----------
    evaluated : int
        How many mixes were read or bounded: all that the stock can fill.
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


@dataclass(frozen=True, eq=False)
class _Question:
    """What is asked of the mixes of one line on one zone.

    `share` is what the stock holds of each shade as a share of a bowl's colour.
    """

    bed: Bed
    judge: Judge
    space: MixSpace
    share: Array | None
    keep_colours: bool

    def best(self, *, coolest: float | None) -> tuple[Pool, Rows]:
        """Return the pool of mixes and the rows of its frontier, none cooler than `coolest`."""
        pool = self._pool(coolest)
        if not pool.evaluated:
            return pool, pool.rows[:0]
        readings = read_rows(self.bed, self.judge, self.space, may_lead(pool, coolest))
        return pool, leading(readings, self.space, coolest)

    def _pool(self, coolest: float | None) -> Pool:
        """Return every mix, or with four shades those not beaten for certain."""
        bed, judge, space = self.bed, self.judge, self.space
        is_short = self.share is not None and self.share.min() < 1.0
        share = self.share if is_short else None
        if space.most > 3:
            slack = pruned.SLACK_LEVELS * judge.lightness_per_level
            return pruned.keep_unbeaten(
                bed, judge, space, slack=slack, share=share, coolest=coolest
            )
        lab = np.empty((3, space.size), np.float32) if self.keep_colours else None
        reader = FastReader(judge, most_rows(space.count), lab)
        warmth, lightness = sweep(bed, space, reader, share)
        evaluated = int(np.count_nonzero(lightness > -np.inf))
        rows = np.arange(space.size)
        return Pool(evaluated, rows, warmth, lightness, reader.tolerance(), lab)


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
    curve: LimitCurve | None = None,
    keep_colours: bool = False,
) -> SearchResult:
    """Return every mix of the line on a zone, read, with its frontier and limit.

    Parameters
    ----------
    zone : Zone
    line : Line
    minutes : float, optional
        Processing time. [min]
    max_shades : int
        1 to 4. [count]
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
    curve : LimitCurve, optional
        The zone's limit, where it is known already.
    keep_colours : bool
        Whether the colours of all mixes are kept as well, as a head of several zones wants
        them; not of four shades at most.

    Returns
    -------
    SearchResult
        The same for every order of the line's shades. On hair of little warmth only mixes that
        leave it no cooler than anybody asks, if there are any: see `Judge.coolest_percent`.

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
    share = None
    if grams_in_stock is not None:
        share = np.array([grams_in_stock[name] / colour_grams for name in bed.names])
    question = _Question(bed, judge, space, share, keep_colours)
    pool, best = question.best(coolest=judge.coolest_percent)
    if not pool.evaluated:
        raise EngineRefusal(
            "stock_too_short",
            f"grams_in_stock [g]: no mix fills the {colour_grams:.1f} g of colour in a bowl, "
            f"given {dict(grams_in_stock or {})}",
        )
    if not len(best):  # every mix of this line is cooler than anybody asks
        pool, best = question.best(coolest=None)
    return SearchResult(
        evaluated=pool.evaluated,
        frontier=tuple(candidates(read_rows(bed, judge, space, best), bed.names, space)),
        curve=curve or limit_of(judge, bed.reflectance()),
        bed=bed,
        judge=judge,
        space=space,
        pool=pool,
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
        raise EngineRefusal(
            "stock_too_short",
            f"grams_in_stock [g]: no shade of {line.name} has the {smallest:.1f} g "
            "that the smallest part of a bowl needs",
        )
    if all(shade.is_clear for shade in shades):
        raise EngineRefusal(
            "only_clear",
            f"shades of {line.name}: only clear to mix with, given "
            f"{', '.join(line.names)}; a toner needs at least one shade with pigment",
        )
    return replace(line, shades=tuple(shades))


def check_by_shade(values: Mapping[str, float] | None, *, name: str) -> None:
    """Raise ValueError where a mapping by shade holds a negative or infinite number."""
    for shade, value in (values or {}).items():
        checks.number(value, name=f"{name}[{shade!r}]", unit="by gram", low=0, high=1e9)
