"""The head as the client chooses it: places for all its parts together, and their words."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from consult import zones
from consult.agreement import statement
from consult.agreement.snapshot import HeadShown
from consult.agreement.wished_depth import colour_name
from formulas import warmth_words
from formulas.head_suggestion import HeadPlace
from formulas.snapshots import Mix, Start

# A part that looks so much deeper than the whole is named. [levels]
_NAMED_LEVELS = 0.4
# Within the step in which levels are read a depth is the one that was wished. [levels]
_SAME_DEPTH = 0.5
# From so much of the warmth on. [%]
_WARMTH_STEPS = [
    (105, gettext_lazy("It looks warmer than before.")),
    (85, gettext_lazy("Nearly all of the warmth is left.")),
    (60, gettext_lazy("Most of the warmth is left.")),
    (40, gettext_lazy("About half of the warmth is left.")),
    (20, gettext_lazy("A little of the warmth is left.")),
    (8, gettext_lazy("Hardly any warmth is left.")),
]
_NEUTRAL = gettext_lazy("No warmth is left: it looks as neutral as natural hair.")
# By half levels that it looks deeper.
_HALF_LEVELS = {
    1: gettext_lazy("It looks about half a level deeper than now."),
    2: gettext_lazy("It looks about one level deeper than now."),
    3: gettext_lazy("It looks about one and a half levels deeper than now."),
    4: gettext_lazy("It looks about two levels deeper than now."),
    5: gettext_lazy("It looks about two and a half levels deeper than now."),
    6: gettext_lazy("It looks about three levels deeper than now."),
}
_DEEPEST = gettext_lazy("It looks more than three levels deeper than now.")


@dataclass(frozen=True)
class HeadPlan:
    """The places of the head, warmest first, and its parts as they are now.

    `wanted_level` is the level that the client wishes the head to be as dark as, if any.
    """

    places: list[HeadPlace]
    start: Mapping[str, Start]
    wanted_level: float | None = None

    @property
    def keys(self) -> list[str]:
        """The groups of zones, from the scalp outwards."""
        return list(self.start)

    def nearest(self, aim: float) -> HeadPlace:
        """Return the place nearest to a warmth of the head, the lighter of two as near."""
        return min(
            self.places,
            key=lambda place: (
                abs(place.warmth_left_percent - aim),
                place.levels_deeper_looks,
            ),
        )

    @property
    def middle(self) -> HeadPlace:
        """The place that is shown first: the balanced one."""
        named = [place for place in self.places if place.key]
        return named[len(named) // 2] if named else self.places[len(self.places) // 2]


def warmth_sentence(plan: HeadPlan, place: HeadPlace) -> str:
    """Say how much warmth stays on the whole, without a number."""
    warmths = [float(mix["warmth_left_percent"]) for mix in place.zones.values()]
    starts = [part["warmth_percent"] for part in plan.start.values()]
    percent, start = sum(warmths) / len(warmths), sum(starts) / len(starts)
    if percent < -warmth_words.NEUTRAL_PERCENT:
        return _("No warmth is left: it looks slightly ashy.")
    if all(part["shows_little_warmth"] for part in plan.start.values()):
        warmth = warmth_words.in_words(percent, start=start, little=True)
        return _("It looks %(warmth)s.") % {"warmth": warmth}
    words = next((words for least, words in _WARMTH_STEPS if percent >= least), _NEUTRAL)
    return str(words)


def mix_warmth(plan: HeadPlan, key: str, mix: Mix) -> str:
    """Return the warmth that a mix leaves on a part, for the table of the parts."""
    start = plan.start[key]
    return warmth_words.short(
        float(mix["warmth_left_percent"]),
        start=start["warmth_percent"],
        little=start["shows_little_warmth"],
    )


def depth_words(plan: HeadPlan, place: HeadPlace) -> str:
    """Say how much deeper the head will look, and which part changes most."""
    if plan.wanted_level is not None:
        return _depth_wished(plan, place, plan.wanted_level)
    each = {key: float(mix["levels_deeper_looks"]) for key, mix in place.zones.items()}
    least, most = min(each.values()), max(each.values())
    if most - least < _NAMED_LEVELS or len(each) == 1:
        return _depth_of_all((least + most) / 2)
    deepest = max(each, key=lambda key: each[key])
    return _("%(depth)s The %(zones)s change most, to match.") % {
        "depth": _depth_of_all(sum(each.values()) / len(each)),
        "zones": zones.words(deepest),
    }


def limit_words(plan: HeadPlan, place: HeadPlace) -> str:
    """Say what cannot be had."""
    if not place.is_even:
        return _("This cool, the parts cannot look quite the same.")
    if plan.wanted_level is not None:
        return _("No toner makes it lighter again afterwards.")
    if place.held_by:
        return _("It cannot be this cool and lighter: the %(zones)s go no lighter.") % {
            "zones": zones.words(place.held_by)
        }
    if place == plan.places[-1]:
        return _("It cannot get cooler than this today.")
    return _("It cannot be this cool and stay lighter.")


def sentences(plan: HeadPlan, place: HeadPlace) -> list[str]:
    """Return three sentences: the warmth that stays, the depth, what cannot be had."""
    return [
        warmth_sentence(plan, place),
        depth_words(plan, place),
        limit_words(plan, place),
    ]


def frozen(place: HeadPlace) -> HeadShown:
    """Return what a sign-off keeps of a place of the head, beside each part's own numbers."""
    return {
        "warmth_left_percent": place.warmth_left_percent,
        "levels_deeper_looks": place.levels_deeper_looks,
        "largest_difference": place.largest_difference,
        "is_even": place.is_even,
        "held_by": place.held_by,
        "bowls": place.bowls,
    }


def colours(place: HeadPlace, *, damp: bool = False) -> dict[str, str]:
    """Return the screen colour of every zone at a place."""
    return {
        zone: mix["damp_hex"] if damp else mix["hex"]
        for key, mix in place.zones.items()
        for zone in zones.Group(key).members
    }


def island(plan: HeadPlan, *, names_mixes: bool) -> dict[str, object]:
    """Return what the script needs: colours, words and mixes of every place, warmest first.

    A client chooses a place, not the shades that lead to it.
    """
    return {
        "places": [
            {
                "key": place.key,
                "warmth": round(place.warmth_left_percent, 1),
                "hex": colours(place),
                "damp": colours(place, damp=True),
                "sentences": sentences(plan, place),
                "aims": {
                    key: round(mix["warmth_left_percent"], 1)
                    for key, mix in place.zones.items()
                },
                "mixes": {
                    key: {
                        "label": mix["label"],
                        "warmth": mix_warmth(plan, key, mix),
                        "deeper": statement.one_decimal(mix["levels_deeper_looks"]),
                        "whole": statement.one_decimal(mix["deeper_for_the_whole"]),
                    }
                    for key, mix in place.zones.items()
                    if names_mixes
                },
            }
            for place in plan.places
        ],
    }


def _depth_wished(plan: HeadPlan, place: HeadPlace, wanted: float) -> str:
    """Say how dark the head will look beside the depth that was wished."""
    each = [
        float(plan.start[key]["looks_level"]) - float(mix["levels_deeper_looks"])
        for key, mix in place.zones.items()
    ]
    reached = sum(each) / len(each)
    if abs(reached - wanted) <= _SAME_DEPTH:
        text = _("It looks about as dark as natural %(colour)s, as you wished.")
        return text % {"colour": colour_name(wanted)}
    colour = {"colour": colour_name(round(2 * reached) / 2)}
    if reached > wanted:
        return _("With these shades it gets only as dark as natural %(colour)s.") % colour
    return _("This cool, it gets darker than you wished: natural %(colour)s.") % colour


def _depth_of_all(levels: float) -> str:
    halves = round(levels * 2)
    if halves <= 0:
        return _("It looks as light as now.")
    return str(_HALF_LEVELS.get(halves, _DEEPEST))
