"""The mixes of every zone for a common colour: the fewest bowls, and the nearest."""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from formulas.engine.hair.appearance import Judge
from formulas.engine.light.grid import Array, Rows
from formulas.engine.prediction.explain import Sentence
from formulas.engine.search.bowls import fewest_bowls, fiddly, mix_codes, off
from formulas.engine.search.common import Common
from formulas.engine.search.members import EVEN, Member
from formulas.engine.search.offer import Offer
from formulas.engine.search.picking import Offered

# So many of the simplest mixes of a bowl are asked how well they forgive.
_MOST_COMPARED = 8
_SLIP_STEP = 0.25
_SAME_PERCENT = 2.0
_SAME = 0.01  # differences closer than this are one [CIEDE2000]


@dataclass(frozen=True)
class HeadZone:
    """What one zone gets at a place of the head.

    Attributes
    ----------
    offered : Offered
    difference : float
        From the common colour, or from what was wished of it. [CIEDE2000]
    deeper_for_the_whole : float
        How much deeper it looks than this zone alone would need for its warmth. [levels]
    """

    offered: Offered
    difference: float
    deeper_for_the_whole: float


@dataclass(frozen=True)
class HeadPlace:
    """A place along "lighter, some gold ... cooler, deeper" for the whole head.

    Attributes
    ----------
    key : str
        "bright", "between" or "cool"; empty for places between them.
    lab : (3,) tuple
        The common colour.
    warmth_left_percent, levels_deeper_looks : float
        Of the common colour, against the mean of the zones as they are now.
    zones : mapping of zone name to HeadZone
    bowls : tuple of tuple of zone names
        The zones that share a mix.
    held_by : str or None
        The zone that keeps the whole from being lighter; None with a wanted level.
    """

    key: str
    lab: tuple[float, float, float]
    warmth_left_percent: float
    levels_deeper_looks: float
    zones: Mapping[str, HeadZone]
    bowls: tuple[tuple[str, ...], ...]
    held_by: str | None

    @property
    def largest_difference(self) -> float:
        """How far the zone that misses most is from the common colour. [CIEDE2000]"""
        return max(zone.difference for zone in self.zones.values())

    @property
    def is_even(self) -> bool:
        """Whether an eye would call the whole even (wished differences apart)."""
        return self.largest_difference <= EVEN + 1e-9


@dataclass(frozen=True, eq=False)
class _Bowl:
    """Mixes that suit all zones of a bowl: codes, and the difference of the worst zone."""

    zones: tuple[str, ...]
    codes: Rows
    off: Array


@dataclass(frozen=True, eq=False)
class _Known:
    """What is known of mixes of a zone, by code (rising)."""

    codes: Rows
    values: Any

    def of(self, codes: Rows | int) -> Any:
        return self.values[np.searchsorted(self.codes, codes)]


class Picker:
    """Picks the mixes of every zone for common colours."""

    def __init__(
        self,
        offers: Mapping[str, Offer],
        members: Mapping[str, Member],
        judge: Judge,
        wanted_level: float | None,
    ) -> None:
        self._offers, self._members = offers, members
        self._judge, self._wanted_level = judge, wanted_level
        self._rows: dict[str, _Known] = {}
        self._slips: dict[str, _Known] = {}

    def places(self, keys: Sequence[str], commons: Sequence[Common]) -> list[HeadPlace]:
        """Return the place of each common colour, in the same order."""
        suiting = self._suiting(commons)
        bowls = [self._bowls(choices) for choices in suiting]
        for name in self._offers:
            self._slips[name] = self._weighed(name, bowls)
        chosen = [
            {name: self._best(bowl) for bowl in some for name in bowl.zones} for some in bowls
        ]
        zones = {name: self._zones(name, keys, suiting, chosen) for name in self._offers}
        return [
            self._place(keys[n], common, {name: zones[name][n] for name in zones}, bowls[n])
            for n, common in enumerate(commons)
        ]

    def _suiting(self, commons: Sequence[Common]) -> list[dict[str, tuple[Rows, Array]]]:
        """Return for each colour and zone the mixes that an eye cannot tell from it."""
        found: list[dict[str, tuple[Rows, Array]]] = [{} for _ in commons]
        for name, member in self._members.items():
            parts = []
            for is_even in (True, False):
                here = np.array([n for n, c in enumerate(commons) if c.is_even == is_even], int)
                if not len(here):
                    continue
                lab = np.stack([commons[n].lab for n in here])
                worst = EVEN if is_even else max(commons[n].worst for n in here) + _SAME
                cloud = member.near(lab, worst)
                targets, most = member.targets(lab), np.full(len(here), EVEN)
                if not is_even:
                    most = np.maximum(most, cloud.differences(targets) + _SAME)
                colour, place, differs = cloud.within(targets, most)
                parts.append((here[colour], cloud.rows[place], differs))
            colour, rows, differs = (np.concatenate(some) for some in zip(*parts, strict=True))
            codes = mix_codes(member.cloud.result, rows, self._offers[name].line.names)
            unique, first = np.unique(codes, return_index=True)
            self._rows[name] = _Known(unique, rows[first])
            order = np.lexsort([codes, colour])
            starts = np.searchsorted(colour[order], np.arange(len(commons) + 1))
            for n, (start, end) in enumerate(itertools.pairwise(starts)):
                mine = order[start:end]
                found[n][name] = codes[mine], differs[mine]
        return found

    def _bowls(self, choices: Mapping[str, tuple[Rows, Array]]) -> list[_Bowl]:
        """Return the fewest bowls, each with the simplest of the mixes that suit it."""
        bowls = []
        for group, codes in fewest_bowls(choices):
            differs = off(choices, group, codes)
            best = np.lexsort([codes, differs.round(6), fiddly(codes)])[:_MOST_COMPARED]
            bowls.append(_Bowl(group, codes[best], differs[best]))
        return bowls

    def _weighed(self, name: str, bowls: Sequence[Sequence[_Bowl]]) -> _Known:
        """Return how far the mixes of a zone's bowls move by a slip."""
        here = [bowl.codes for some in bowls for bowl in some if name in bowl.zones]
        codes, one = np.unique(np.concatenate(here)), self._offers[name]
        return _Known(
            codes, one.slips.of(one.within.space.fractions(self._rows[name].of(codes)))
        )

    def _best(self, bowl: _Bowl) -> int:
        slip = np.max([self._slips[name].of(bowl.codes) for name in bowl.zones], axis=0)
        simple = next(iter(self._offers.values())).practice.simple_first
        work = [fiddly(bowl.codes), np.floor(slip / _SLIP_STEP)] if simple else [slip.round(6)]
        # The last key is the first to count.
        return int(bowl.codes[np.lexsort([bowl.codes, bowl.off.round(6), *work])[0]])

    def _zones(
        self,
        name: str,
        keys: Sequence[str],
        suiting: Sequence[Mapping[str, tuple[Rows, Array]]],
        chosen: Sequence[Mapping[str, int]],
    ) -> list[HeadZone]:
        """Return what a zone gets at every place."""
        within = self._offers[name].within
        codes = np.array([mixes[name] for mixes in chosen])
        mixes = within.read(self._rows[name].of(codes))
        frontier = within.frontier[::-1]
        warmth = [mix.warmth_left_percent for mix in frontier]
        looks = np.array([mix.levels_deeper_looks for mix in frontier])
        found = []
        for key, code, mix, choices in zip(keys, codes, mixes, suiting, strict=True):
            last = int(np.searchsorted(warmth, mix.warmth_left_percent + 1e-6, side="right"))
            alone = looks[last - 1] if last else mix.levels_deeper_looks
            differs = float(_Known(*choices[name]).of(code))
            offered = Offered(key, mix, float(self._slips[name].of(code)), 0.0, _why(differs))
            extra = max(float(mix.levels_deeper_looks - alone), 0.0)
            found.append(HeadZone(offered, differs, extra))
        return found

    def _place(
        self, key: str, common: Common, zones: Mapping[str, HeadZone], bowls: Sequence[_Bowl]
    ) -> HeadPlace:
        lab = (float(common.lab[0]), float(common.lab[1]), float(common.lab[2]))
        return HeadPlace(
            key,
            lab,
            common.warmth_percent,
            float(self._judge.levels_deeper_looks(common.lab)),
            zones,
            tuple(bowl.zones for bowl in bowls),
            self._held_by(common) if self._wanted_level is None else None,
        )

    def _held_by(self, common: Common) -> str:
        """Return the zone whose lightest mix of that coolness is the deepest."""

        def lightest(name: str) -> float:
            lightness, warmth = self._lightest[name]
            cool = warmth <= common.warmth_percent + _SAME_PERCENT
            return float(lightness[cool].max(initial=-np.inf))

        return min(self._offers, key=lightest)

    @cached_property
    def _lightest(self) -> dict[str, tuple[Array, Array]]:
        """L* without the wish and warmth (%) of each zone's lightest mixes."""
        found = {}
        for name, one in self._offers.items():
            lab = np.array([mix.lab for mix in one.within.frontier])
            lightness = self._members[name].without_wish(lab[:, 0])
            found[name] = lightness, self._judge.warmth_left_percent(lab)
        return found


def _why(differs: float) -> Sentence:
    if differs <= EVEN + 1e-9:
        return Sentence("why_even", "It brings this part to the colour of the whole.")
    text = "No other mix within practice brings this part nearer to the colour of the whole."
    return Sentence("why_nearest_to_whole", text, {"difference": differs})
