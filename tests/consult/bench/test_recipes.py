"""What the formula page offers, and where a mix that is posted came from."""

from decimal import Decimal

import pytest

from consult import selectors, services
from consult.agreement import last_time, planning
from consult.bench import recipes
from consult.models import Source
from formulas import services as formulary
from formulas.selectors import shades_in_stock
from tests.factories.consult import Story, opened, owner_of, zone

ALL = "roots,mid_lengths,ends"


def _offers(story: Story) -> list[recipes.Offer]:
    return recipes.offers(
        story.visit,
        list(shades_in_stock(line=story.visit.line)),
        choice=selectors.choice_in_force(story.visit),
        readings=selectors.readings_in_force(story.visit),
        at=story.at,
    )


@pytest.fixture
def again(story: Story) -> Story:
    """The next visit of a client, signed for the very mix of the last one."""
    story.to_end()
    today = opened(story.visit.salon, stylist=story.by, at=story.later(60)).answer().read()
    readings = selectors.readings_in_force(today.visit)
    plans = planning.plans(today.visit, readings, at=today.at)
    found = last_time.of(today.visit, plans, at=today.at)
    assert found is not None
    picks = [
        services.Pick(one.zones, one.predicted["warmth_left_percent"]["value"], one.parts)
        for one in found.parts
    ]
    services.choose(visit=today.visit, picks=picks, by=today.by, at=today.later())
    today.sign()
    return today


def test_nothing_is_offered_before_the_signature(story: Story) -> None:
    story.answer().read()
    assert _offers(story) == []
    story.choose()
    assert _offers(story) == []
    story.sign()

    (offer,) = _offers(story)

    assert offer.recipes


def test_a_posted_mix_is_told_by_where_it_was_shown(again: Story) -> None:
    (offer,) = _offers(again)
    repeated = offer.again
    assert repeated is not None
    _first, second, *_more = offer.recipes
    clear = {again.visit.line.shades.get(name="clear").pk: Decimal(1)}

    assert recipes.source_of(offer, second.parts, "own") == (
        Source.SUGGESTED,
        list(second.reasons),
    )
    assert recipes.source_of(offer, repeated.parts, "own") == (
        Source.REPEATED,
        list(repeated.reasons),
    )
    assert recipes.source_of(offer, clear, "changed") == (Source.CHANGED, [])
    assert recipes.source_of(offer, clear, "suggested") == (Source.OWN, [])


def test_the_last_mix_is_offered_once_with_the_reasons_of_the_suggestion(
    again: Story,
) -> None:
    """It was signed, and so leads the suggestions: it is shown as last time's instead."""
    (offer,) = _offers(again)

    assert offer.again is not None
    assert offer.again.reasons
    assert offer.again.repeats is not None
    assert offer.again.parts not in [recipe.parts for recipe in offer.recipes]


def test_a_last_mix_of_a_shade_that_is_gone_is_not_offered(again: Story) -> None:
    (before,) = _offers(again)
    assert before.again is not None
    again.visit.line.shades.filter(pk=next(iter(before.again.parts))).update(is_active=False)

    (offer,) = _offers(again)

    assert offer.again is None
    assert offer.recipes


def test_a_part_that_was_not_toned_last_time_repeats_nothing(story: Story) -> None:
    untoned = zone(is_toned=False)
    story.answer().read(mid_lengths=untoned, ends=untoned)
    story.choose()
    story.sign()
    story.decide()
    story.process().see().close()
    today = opened(story.visit.salon, stylist=story.by, at=story.later(60)).answer()
    today.read(roots=untoned)
    today.choose()
    today.sign()

    (offer,) = _offers(today)

    assert offer.key == "mid_lengths,ends"
    assert offer.again is None


def test_a_mix_that_can_no_longer_be_weighed_is_not_offered(story: Story) -> None:
    """Signed for a large bowl; now a small one is the rule, and 10 g are the least."""
    story.answer().read()
    story.choose(aim=60)
    story.sign()
    (before,) = _offers(story)
    assert len(before.recipes[0].parts) > 1
    formulary.revise_mixing_rules(
        by=owner_of(story.visit.salon), at=story.later(), roots_grams=Decimal(5),
        mid_lengths_grams=Decimal(5), ends_grams=Decimal(5), least_bowl_grams=Decimal(10),
        least_grams=Decimal(10),
    )  # fmt: skip
    story.visit.__dict__.pop("amounts")  # as another request reads it

    (offer,) = _offers(story)

    assert before.recipes[0].parts not in [recipe.parts for recipe in offer.recipes]
    for recipe in offer.recipes:
        assert min(grams for _name, grams in recipe.weights.grams) >= 10
