"""What is offered of all mixes on a zone: those within practice, along the trade-off."""

from dataclasses import dataclass, replace
from typing import Any

from formulas.engine import checks
from formulas.engine.prediction.numbers import Setting
from formulas.engine.search.aims import Aim
from formulas.engine.search.picking import Offered, Picker
from formulas.engine.search.practice import Practice
from formulas.engine.search.search import SearchResult, search
from formulas.engine.search.slips import Slips
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone


@dataclass(frozen=True, eq=False)
class Offer:
    """What is offered on a zone, beside all mixes.

    Attributes
    ----------
    zone : Zone
    line : Line
    setting : Setting
    practice : Practice
    every, within : SearchResult
        All mixes, and those within practice; the same where practice leaves none.
    along : tuple of Offered
        From the warmest to the coolest: none of them is beaten by another.
    keeps_to_practice : bool
    wanted_level : float or None
        As dark as a natural of this level, where that was wished. [level]
    slips : Slips
        How far the mixes within practice move when the work is a little off.
    """

    zone: Zone
    line: Line
    setting: Setting
    practice: Practice
    every: SearchResult
    within: SearchResult
    along: tuple[Offered, ...]
    keeps_to_practice: bool
    wanted_level: float | None
    slips: Slips

    @property
    def places(self) -> tuple[Offered, ...]:
        """The three named places, warmest first."""
        return tuple(offered for offered in self.along if offered.key)

    def at(self, warmth_percent: float) -> Offered:
        """Return what is offered nearest to a warmth, the lighter of two as near. [%]"""
        return min(
            self.along,
            key=lambda offered: (
                abs(offered.mix.warmth_left_percent - warmth_percent),
                offered.mix.levels_deeper_looks,
            ),
        )

    def short_list(self, warmth_percent: float, *, k: int = 3) -> tuple[Offered, ...]:
        """Return what is offered at a warmth, and the best of the mixes like it. [%]

        Parameters
        ----------
        warmth_percent : float
        k : int
            1 to 50; fewer only where practice has fewer mixes. [count]
        """
        count = checks.whole(k, name="k", low=1, high=50)
        first = self.at(warmth_percent)
        aim = Aim(first.mix.warmth_left_percent, first.mix.levels_deeper_looks)
        picker = Picker(self.every, self.within, self.practice, self.slips, self.wanted_level)
        (others,) = picker.pick([("", aim)], k=count + 1)
        rest = [other for other in others if other.mix.parts != first.mix.parts]
        return (first, *rest)[:count]

    @property
    def shades_within(self) -> frozenset[str]:
        """The names of the shades within practice; none where no such shade has pigment."""
        looks = float(self.every.judge.looks_level(self.every.judge.start_lab))
        used = self.practice.line(self.line, self.zone, self.wanted_level, looks)
        return frozenset(used.names) if used else frozenset()


def offer(
    zone: Zone,
    line: Line,
    *,
    practice: Practice | None = None,
    wanted_level: float | None = None,
    **how: Any,
) -> Offer:
    """Return the mixes offered on a zone, warmest first.

    Parameters
    ----------
    zone : Zone
    line : Line
    practice : Practice, optional
        Careful limits if left out.
    wanted_level : float, optional
        As dark as a natural of this level, 1 to 10: a wish for depth beside the warmth. [level]
    **how
        As `search` takes them: minutes, max_parts, grams_in_stock, bowl_grams,
        price_per_gram, chart, ...

    Raises
    ------
    ValueError
        If a number is out of range or the stock fills no mix.
    """
    every = search(zone, line, **how)
    setting = Setting(how.get("minutes"), how.get("chart"), how.get("strengths"))
    return offer_of(
        every, zone, line, practice=practice, wanted_level=wanted_level, setting=setting
    )


def offer_of(
    every: SearchResult,
    zone: Zone,
    line: Line,
    *,
    practice: Practice | None = None,
    wanted_level: float | None = None,
    setting: Setting | None = None,
) -> Offer:
    """Return the same from a search made already, in the same setting; see `offer`."""
    practice, setting = practice or Practice(), setting or Setting()
    if wanted_level is not None:
        checks.number(wanted_level, name="wanted_level", unit="level", low=1, high=10)
    looks = float(every.judge.looks_level(every.judge.start_lab))
    used = practice.line(line, zone, wanted_level, looks)
    within = search_within(every, zone, used, practice, setting) if used else None
    result = within or every
    slips = Slips(zone, result, line, setting)
    picker = Picker(every, result, practice, slips, wanted_level)
    return Offer(
        zone, line, setting, practice, every, result, picker.along(), within is not None,
        wanted_level, slips,
    )  # fmt: skip


def search_within(
    every: SearchResult, zone: Zone, used: Line, practice: Practice, setting: Setting
) -> SearchResult | None:
    """Return the search of the mixes within practice; None where there are none.

    Parameters
    ----------
    every : SearchResult
        Of all mixes of the line on that zone.
    zone : Zone
    used : Line
        The shades within practice; see `Practice.line`.
    practice : Practice
    setting : Setting
        As `every` was searched.
    """
    grams = every.colour_grams
    stock = dict(every.stock) if every.stock is not None else dict.fromkeys(used.names, 1e6)
    for shade in used.shades:
        if shade.is_clear:  # no bowl holds more clear than practice allows
            stock[shade.name] = min(stock.get(shade.name, 0.0), practice.most_clear * grams)
    try:
        found = search(
            zone,
            used,
            minutes=setting.minutes,
            max_shades=min(practice.most_shades, 3),
            max_parts=practice.most_parts(grams, every.space.max_parts),
            grams_in_stock=stock,
            bowl_grams=grams * (1.0 + used.developer_ratio),
            price_per_gram=every.prices,
            chart=setting.chart,
            strengths=setting.strengths,
            curve=every.curve,
            keep_colours=True,
        )
    except ValueError:
        return None
    return replace(found, stock=every.stock)
