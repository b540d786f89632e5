"""One bowl for several groups of zones: the best of the shelf, and what each gives up."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from formulas import engine, engine_inputs, engine_sentences
from formulas.engine_inputs import Ground, ZoneInput
from formulas.shelf_search import offer_shelf
from formulas.snapshots import StoredSentence


@dataclass(frozen=True)
class Share:
    """What the common bowl means for one group.

    `own_deeper` is how much deeper it looks than the group's own best mix would, in levels;
    `minutes` is set where the group should be rinsed before the others.
    """

    warmth_left_percent: float
    miss_percent: float
    own_deeper: float
    minutes: int | None


@dataclass(frozen=True)
class CommonBowl:
    """Parts by shade name, whether an eye lets it pass everywhere, and the engine's words."""

    parts: tuple[tuple[str, int], ...]
    is_good: bool
    shares: Mapping[str, Share]
    sentences: tuple[StoredSentence, ...]


# Below such a miss a separate rinse is not worth the trouble: half of what the engine
# counts as one step of warmth.
_RINSE_EARLY_FROM_PERCENT = 5.0


@dataclass(frozen=True)
class BowlWish:
    """A group of zones as read, and the place that was chosen for it."""

    zone: ZoneInput
    warmth_aim_percent: float
    wanted_level: float | None = None
    levels_deeper: float = 0.0


Wishes = tuple[tuple[str, BowlWish], ...]


def common_bowl(
    *,
    ground: Ground,
    practice: engine.Practice,
    wishes: Mapping[str, BowlWish],
    bowl_grams: float,
) -> CommonBowl:
    """Return the best common bowl for the wishes of several groups.

    Raises
    ------
    ValueError
        If the stock fills no bowl of this line; the message says what is missing.
    """
    in_order = tuple(wishes.items())
    colour_grams = bowl_grams / (1.0 + ground.in_use().developer_ratio)
    stock = engine_inputs.usable_stock(ground.stock, bowl_colour_grams=colour_grams)
    shelf = tuple(sorted(stock.items()))
    found = _found(ground, practice, in_order, bowl_grams, shelf)
    shares = {
        key: Share(
            warmth_left_percent=share.reading.warmth_left_percent,
            miss_percent=share.miss_percent,
            own_deeper=share.deeper_levels,
            minutes=(
                round(share.shorter.minutes)
                if share.shorter and share.miss_percent >= _RINSE_EARLY_FROM_PERCENT
                else None
            ),
        )
        for key, share in found.shares.items()
    }
    sentences = tuple(engine_sentences.coded(sentence) for sentence in found.sentences)
    return CommonBowl(found.parts, found.one_bowl, shares, sentences)


@lru_cache(maxsize=24)
def _found(
    ground: Ground,
    practice: engine.Practice,
    wishes: Wishes,
    bowl_grams: float,
    _shelf: tuple[tuple[str, float], ...],
) -> engine.Bowls:
    offers = {
        key: offer_shelf(
            ground,
            wish.zone,
            practice,
            bowl_grams=bowl_grams,
            wanted_level=wish.wanted_level,
            levels_deeper=wish.levels_deeper,
        )
        for key, wish in wishes
    }
    return engine.one_bowl_of(offers, {key: wish.warmth_aim_percent for key, wish in wishes})
