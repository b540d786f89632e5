"""Several zones: one bowl for all, or a bowl for each, and what the one bowl costs each zone.

Every mix within practice is read on every zone. What it costs a zone is how far it misses that
zone's aim and how much deeper it looks than what is offered for the zone alone; the best
compromise is the one whose worst zone suffers least. Porous zones (ends, mostly) that take too
much of the common bowl get it shorter or thinner instead.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from formulas.engine import checks
from formulas.engine.light.grid import Array, Rows
from formulas.engine.prediction.candidates import Candidate, read_rows
from formulas.engine.prediction.explain import Sentence
from formulas.engine.prediction.numbers import used_shades
from formulas.engine.prediction.single import Adjusted, shorter, thinner
from formulas.engine.search.offer import Offer, offer, search_within
from formulas.engine.search.practice import Practice
from formulas.engine.search.search import SearchResult
from formulas.engine.search.weighing import LEVELS_UNIT, PERCENT_UNIT, weighed
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone

# What an eye lets pass: one bowl is worth it up to here.
GOOD_ENOUGH = 1.0
_STEP = 0.05  # costs closer than this are one; then fewer shades decide


@dataclass(frozen=True)
class Wish:
    """A zone and the place on its trade-off that was chosen.

    Attributes
    ----------
    zone : Zone
    aim : float
        Warmth to keep. [%]
    wanted_level : float or None
        As dark as a natural of this level, where that was wished. [level]
    """

    zone: Zone
    aim: float
    wanted_level: float | None = None

    def __post_init__(self) -> None:
        checks.number(self.aim, name="aim", unit="% warmth", low=-400, high=400)


@dataclass(frozen=True)
class Share:
    """What the common bowl gives one zone.

    Attributes
    ----------
    reading : Candidate
    own : Candidate
        What is offered for this zone alone.
    miss_percent : float
        How far the common bowl misses the aim. [% warmth]
    deeper_levels : float
        How much deeper it looks than the zone's own best; below 0: lighter. [levels]
    shorter, thinner : Adjusted or None
        The common bowl for a shorter time, or with clear, where that meets the aim better.
    """

    reading: Candidate
    own: Candidate
    miss_percent: float
    deeper_levels: float
    shorter: Adjusted | None
    thinner: Adjusted | None

    @property
    def cost(self) -> float:
        """Both in one number; up to 1 an eye lets it pass."""
        return float(weighed(self.miss_percent, self.deeper_levels))


@dataclass(frozen=True)
class Bowls:
    """One bowl for several zones beside a bowl for each.

    Attributes
    ----------
    parts : tuple of (shade name, whole parts)
        The common bowl.
    shares : mapping of zone name to Share
    one_bowl : bool
        Whether one bowl is good enough for all.
    sentences : tuple of Sentence
    """

    parts: tuple[tuple[str, int], ...]
    shares: Mapping[str, Share]
    one_bowl: bool
    sentences: tuple[Sentence, ...]


def one_bowl(
    wishes: Mapping[str, Wish], line: Line, *, practice: Practice | None = None, **how: Any
) -> Bowls:
    """Return the best common bowl for several zones, and what it costs each.

    Parameters
    ----------
    wishes : mapping of zone name to Wish
        One or more.
    line : Line
    practice : Practice, optional
        Careful limits if left out.
    **how
        As `search` takes them: minutes, max_parts, grams_in_stock, bowl_grams, ...; up to
        three shades.

    Raises
    ------
    ValueError
        If there is no zone, a number is out of range, or the stock fills no mix.
    """
    if not wishes:
        raise ValueError("wishes needs at least one zone, given none")
    checks.whole(how.get("max_shades", 3), name="max_shades", low=1, high=3)
    offers = {
        name: offer(wish.zone, line, practice=practice, wanted_level=wish.wanted_level, **how)
        for name, wish in wishes.items()
    }
    return one_bowl_of(offers, {name: wish.aim for name, wish in wishes.items()})


def one_bowl_of(offers: Mapping[str, Offer], aims: Mapping[str, float]) -> Bowls:
    """Return the same from what is offered on each zone, of the same line, stock and bowl.

    Parameters
    ----------
    offers : mapping of zone name to Offer
    aims : mapping of zone name to float
        Warmth to keep. [%]

    Raises
    ------
    ValueError
        If there is no zone, or the offers are of different lines or stocks.
    """
    if len({found.every.bed.names for found in offers.values()}) != 1:
        raise ValueError("offers must be of one line and one stock")
    owns = {name: offers[name].at(aim).mix for name, aim in aims.items()}
    results = common_searches(offers)
    row = _best_row(results, owns, aims)
    shares = {
        name: _share(offers[name], aims[name], _candidate(result, row), owns[name])
        for name, result in results.items()
    }
    good = all(share.cost <= GOOD_ENOUGH for share in shares.values())
    parts = next(iter(shares.values())).reading.parts
    return Bowls(parts, shares, good, _sentences(shares, good))


def common_searches(offers: Mapping[str, Offer]) -> dict[str, SearchResult]:
    """Return the same mixes read on every zone: those within the practice of all.

    Where zones lie so far apart that no shade is within practice on each, those within
    practice on any; all mixes where that leaves none.
    """
    for shades in _common_shades(offers):
        found = {
            name: search_within(
                one.every, one.zone, used_shades(one.line, shades), one.practice, one.setting
            )
            for name, one in offers.items()
        }
        known = {name: result for name, result in found.items() if result is not None}
        if len(known) == len(offers):
            return known
    return {name: one.every for name, one in offers.items()}


def _common_shades(offers: Mapping[str, Offer]) -> Iterator[list[str]]:
    allowed = [offer.shades_within for offer in offers.values()]
    line = next(iter(offers.values())).line
    for names in (frozenset.intersection(*allowed), frozenset.union(*allowed)):
        kept = [shade for shade in line.shades if shade.name in names]
        if any(not shade.is_clear for shade in kept):
            yield [shade.name for shade in kept]


def _best_row(
    results: Mapping[str, SearchResult],
    owns: Mapping[str, Candidate],
    aims: Mapping[str, float],
) -> int:
    """Return the row whose worst zone suffers least; then by fewer shades, sum, and name."""
    rough = np.zeros(len(next(iter(results.values())).pool.rows))
    off = 0.0
    for name, result in results.items():
        pool = result.pool
        warmth = pool.warmth.astype(np.float64)
        looks = result.judge.levels_deeper_at(pool.lightness)
        own = owns[name].levels_deeper_looks
        cost = weighed(warmth - aims[name], looks - own)
        rough = np.maximum(rough, np.where(pool.lightness == -np.inf, np.inf, cost))
        levels = pool.tolerance[1] * result.judge.levels_per_lightness
        off = max(off, pool.tolerance[0] / PERCENT_UNIT + levels / LEVELS_UNIT)
    rows = np.flatnonzero(rough <= rough.min() + 2.0 * off + _STEP)
    costs = []
    for name, result in results.items():
        readings = read_rows(result.bed, result.judge, result.space, rows)
        own = owns[name].levels_deeper_looks
        costs.append(weighed(readings.warmth - aims[name], readings.looks - own))
    table = np.stack(costs)
    return int(rows[_first(table, next(iter(results.values())), rows)])


def _first(costs: Array, result: SearchResult, rows: Rows) -> int:
    shades, parts = result.space.decode(rows)
    names = [column for pair in zip(shades.T, parts.T, strict=True) for column in pair]
    worst = np.floor((costs.max(axis=0) - costs.max(axis=0).min()) / _STEP + 1e-9)
    keys = [*reversed(names), costs.sum(axis=0).round(9), (shades >= 0).sum(axis=1), worst]
    return int(np.lexsort(keys)[0])


def _candidate(result: SearchResult, row: int) -> Candidate:
    (reading,) = result.read(np.array([row]))
    return reading


def _share(one: Offer, aim: float, reading: Candidate, own: Candidate) -> Share:
    less = thin = None
    if reading.warmth_left_percent < aim:
        same = {name: getattr(one.setting, name) for name in ("minutes", "chart", "strengths")}
        mix = dict(reading.parts)
        less = shorter(one.zone, one.line, mix, aim=aim, **same)
        thin = thinner(one.zone, one.line, mix, aim=aim, **same)
    return Share(
        reading,
        own,
        abs(reading.warmth_left_percent - aim),
        reading.levels_deeper_looks - own.levels_deeper_looks,
        less,
        thin,
    )


def _sentences(shares: Mapping[str, Share], good: bool) -> tuple[Sentence, ...]:
    sentences = []
    if good:
        sentences.append(
            Sentence("one_bowl", "One bowl serves all zones.", {"zones": len(shares)})
        )
    else:
        worst = max(sorted(shares), key=lambda name: shares[name].cost)
        text = f"One bowl would cost the {worst} too much: mix separate bowls."
        sentences.append(Sentence("separate_bowls", text, {"zone": worst}))
    for name, share in shares.items():
        sentences += advice(name, share)
    return tuple(sentences)


def advice(name: str, share: Share) -> Sequence[Sentence]:
    """Return how a zone that takes more is served by the bowl of all: later, or thinner."""
    if share.shorter is None or share.miss_percent < PERCENT_UNIT / 2.0:
        return ()
    minutes = share.shorter.minutes
    text = f"The {name} take more: put it on there for the last {minutes:.0f} minutes"
    if share.thinner is None:
        return (Sentence("shorter_there", f"{text}.", {"zone": name, "minutes": minutes}),)
    clear = share.thinner.clear_parts
    return (
        Sentence(
            "shorter_or_thinner_there",
            f"{text}, or thin the mix with {clear:g} parts of clear to one.",
            {"zone": name, "minutes": minutes, "clear_parts": clear},
        ),
    )
