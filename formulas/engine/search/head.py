"""The whole head: one common colour for each coolness, and the mix that brings each zone to it.

A zone alone is offered mixes along its own trade-off, in percent of its own warmth; the same
percent is then two colours on one head. Here the zones follow a common colour instead: of each
coolness the lightest that all can have (`common`), for each zone the mix nearest to it, in as
few bowls as can be, the forgiving one first. A difference that is wanted is a wish in levels.
Once the common colour is set the zones are independent, so this is exact over the mixes that
are offered on each.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from formulas.engine import checks
from formulas.engine.hair.appearance import Judge
from formulas.engine.search.aims import COOLEST_PERCENT, STEPS
from formulas.engine.search.clouds import Cloud
from formulas.engine.search.common import CommonSearch
from formulas.engine.search.head_picking import HeadPlace, Picker
from formulas.engine.search.members import Member
from formulas.engine.search.offer import Offer
from formulas.engine.search.placing import BRIGHT_SHARE, COOL_PERCENT, KEYS

MOST_ZONES = 5
MOST_DEEPER = 3.0


@dataclass(frozen=True, eq=False)
class Head:
    """The places of a whole head.

    Attributes
    ----------
    offers : mapping of zone name to Offer
    deeper : mapping of zone name to float
        By how many levels a zone is to be deeper than the whole. [levels]
    judge : Judge
        Reads the common colour against the mean of the zones as they are now.
    along : tuple of HeadPlace
        From the warmest to the coolest; its own frontier: none is both cooler and lighter
        than another, but for the three named ones.
    """

    offers: Mapping[str, Offer]
    deeper: Mapping[str, float]
    judge: Judge
    along: tuple[HeadPlace, ...]

    @property
    def places(self) -> tuple[HeadPlace, ...]:
        """The three named places, warmest first."""
        return tuple(place for place in self.along if place.key)

    def at(self, warmth_percent: float) -> HeadPlace:
        """Return the place nearest to a warmth of the head, the lighter of two as near. [%]"""
        return min(
            self.along,
            key=lambda place: (
                abs(place.warmth_left_percent - warmth_percent),
                place.levels_deeper_looks,
            ),
        )


def head_of(
    offers: Mapping[str, Offer],
    *,
    deeper: Mapping[str, float] | None = None,
    steps: int = STEPS,
) -> Head:
    """Return the places of a whole head from what is offered on each of its zones.

    Parameters
    ----------
    offers : mapping of zone name to Offer
        One to five, of one line; all with the same wanted level or none.
    deeper : mapping of zone name to float, optional
        By how many levels a zone is to be deeper than the whole, -3 to 3. [levels]
    steps : int
        In so many steps the line is walked along, 1 to 100. [count]

    Raises
    ------
    ValueError
        If there is no zone or more than five, a number is out of range or the offers are of
        different lines.
    """
    if not 1 <= len(offers) <= MOST_ZONES:
        raise ValueError(f"zones [count]: use 1 to {MOST_ZONES}, given {len(offers)}")
    if len({offer.line.name for offer in offers.values()}) != 1:
        raise ValueError("offers must be of one line")
    wished = {name: float((deeper or {}).get(name, 0.0)) for name in offers}
    for name, levels in wished.items():
        checks.number(
            levels, name=f"deeper of {name}", unit="levels", low=-MOST_DEEPER, high=MOST_DEEPER
        )
    count = checks.whole(steps, name="steps", low=1, high=100)
    judge = _judge(offers)
    members = {
        name: Member(Cloud.of(offer.within), wished[name], judge)
        for name, offer in offers.items()
    }
    (wanted, *others) = {offer.wanted_level for offer in offers.values()}
    if others:
        raise ValueError("offers must have the same wanted level")
    named, between = _warmths(offers, judge, count)
    # The zone that can be least light first: it rules out most colours.
    in_order = sorted(members.values(), key=lambda member: float(member.cloud.lab[0].max()))
    commons = CommonSearch(judge, in_order, wanted).at([*named.values(), *between])
    picker = Picker(offers, members, judge, wanted)
    places = picker.places([*named, *[""] * count], commons)
    return Head(offers, wished, judge, _along(places))


def _judge(offers: Mapping[str, Offer]) -> Judge:
    """Return the judge of the head: the mean of the zones as they are now."""
    own = [offer.every.judge for offer in offers.values()]
    bare = [judge.start_lab if judge.bare_lab is None else judge.bare_lab for judge in own]
    return Judge(
        np.mean([judge.start_lab for judge in own], axis=0),
        np.mean([judge.warm_lab for judge in own], axis=0),
        own[0].chart,
        np.mean(bare, axis=0),
    )


def _warmths(
    offers: Mapping[str, Offer], judge: Judge, steps: int
) -> tuple[dict[str, float], list[float]]:
    """Return the warmth of the named places, and of those between, warmest first."""
    start = float(judge.warmth_left_percent(judge.start_lab))
    reached = [
        float(judge.warmth_left_percent(offer.within.frontier[-1].lab))
        for offer in offers.values()
    ]
    coolest = min(max(*reached, COOLEST_PERCENT, -np.inf), start)
    cool = min(max(COOL_PERCENT, coolest), start)
    bright = cool + BRIGHT_SHARE * (start - cool)
    named = dict(zip(KEYS, (bright, (bright + cool) / 2.0, cool), strict=True))
    return named, [float(warmth) for warmth in np.linspace(start, coolest, steps)]


def _along(places: Sequence[HeadPlace]) -> tuple[HeadPlace, ...]:
    """Return the places from the warmest to the coolest, unbeaten ones and named ones only."""
    kept = [place for place in places if place.key]
    known = {_mixes(place) for place in kept}
    for place in places:
        is_beaten = any(_beats(other, place) or _beats(place, other) for other in kept)
        if not place.key and not is_beaten and _mixes(place) not in known:
            known.add(_mixes(place))
            kept.append(place)
    return tuple(sorted(kept, key=lambda place: -place.warmth_left_percent))


def _mixes(place: HeadPlace) -> tuple[tuple[tuple[str, int], ...], ...]:
    return tuple(zone.offered.mix.parts for zone in place.zones.values())


def _beats(one: HeadPlace, other: HeadPlace) -> bool:
    """Return whether one place is as cool and as light as another, or more."""
    return (
        one.warmth_left_percent <= other.warmth_left_percent
        and one.levels_deeper_looks <= other.levels_deeper_looks
    )
