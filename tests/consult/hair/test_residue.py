"""What of the last toner is counted as still on the hair, and where."""

import datetime as dt
from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse

from consult.agreement import planning
from consult.hair.reading_fields import FactsRead
from consult.history import histories
from consult.history.earlier_tonings import for_next_mix, outlook
from consult.models import Visit
from consult.selectors import facts_in_force, groups_of, readings_in_force
from consult.services import read_hair
from formulas.models import ProductLine
from formulas.selectors import shades_in_stock
from salon.models import Salon, Staff
from tests.factories.consult import Story, head, opened
from tests.typed import present


@pytest.fixture
def again(salon: Salon, stylist: Staff, now: dt.datetime) -> Story:
    """The client's second visit, eight weeks after a toner on every zone."""
    opened(salon, stylist=stylist, at=now - dt.timedelta(weeks=8)).to_end()
    story = opened(salon, stylist=stylist, at=now)
    story.answer()
    return story


def _read(story: Story, *, washes: int | None) -> Visit:
    facts: FactsRead = {} if washes is None else {"washes_since_toner": washes}
    read_hair(visit=story.visit, readings=head(), facts=facts, by=story.by, at=story.later())
    return story.visit


def test_the_last_toner_is_counted_on_lengths_and_ends_and_not_on_regrowth(
    again: Story,
) -> None:
    visit = _read(again, washes=10)

    left = {zone: one.residual for zone, one in for_next_mix(visit, at=again.at).items()}

    assert left["roots"] is None
    for zone in ("mid_lengths", "ends"):
        toner = present(left[zone])
        assert toner.washes == 10
        assert toner.parts


def test_roots_are_a_group_of_their_own_where_toner_is_left_on_the_lengths(
    again: Story,
) -> None:
    visit = _read(again, washes=10)

    groups = groups_of(readings_in_force(visit), facts_in_force(visit))

    assert groups == ["roots", "mid_lengths,ends"]


def test_without_a_number_of_washes_nothing_is_counted(again: Story) -> None:
    visit = _read(again, washes=None)

    left = for_next_mix(visit, at=again.at)
    assert all(one.residual is None for one in left.values())
    assert len(groups_of(readings_in_force(visit), facts_in_force(visit))) == 1


def test_visits_before_the_last_lie_beneath_it(
    salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    for weeks in (12, 8):
        opened(salon, stylist=stylist, at=now - dt.timedelta(weeks=weeks)).to_end()
    again = opened(salon, stylist=stylist, at=now)
    again.answer()
    visit = _read(again, washes=6)

    (deeper,) = present(for_next_mix(visit, at=again.at)["ends"].residual).earlier

    # Four weeks at two washes each between the two.
    assert deeper.washes == pytest.approx(6 + 8, abs=0.5)


def test_what_this_hair_took_goes_into_the_next_prediction(
    salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    for weeks in (18, 12, 6):
        story = opened(salon, stylist=stylist, at=now - dt.timedelta(weeks=weeks)).to_bench()
        predicted = story.visit.formulas.get().predicted["roots,mid_lengths,ends"]
        story.process().see(
            level=Decimal(str(round(2 * predicted["level"]["value"] - 2) / 2)),
            warmth_left_percent=max(round(predicted["warmth_left_percent"]["value"] - 25), -50),
        )
        story.close()
    again = opened(salon, stylist=stylist, at=now)
    again.answer()
    visit = _read(again, washes=10)
    readings = readings_in_force(visit)

    zone = planning.inputs(visit, readings, at=again.at)["roots"]

    assert zone.take > 1.05
    assert zone.take_doubt is not None
    formula = {shade.pk: 1 for shade in shades_in_stock(line=visit.line) if shade.level == 8}
    told = planning.predict(visit, readings, "roots", parts=formula, at=again.at)
    assert "takes_more" in {sentence["code"] for sentence in told["sentences"]}
    past = histories.records_of(histories.tones_of(visit.client))
    assert any(
        "more than usual" in words
        for one in outlook(past, at=again.at).values()
        for words in one.texts
    )


def test_a_visit_with_another_line_breaks_the_row(again: Story, salon: Salon) -> None:
    visit = _read(again, washes=10)
    visit.line = ProductLine.objects.create(salon=salon, name="Other", kind="acidic")

    assert for_next_mix(visit, at=again.at) == {}


def test_the_history_says_what_the_same_mix_would_do(again: Story, tablet: Browser) -> None:
    page = tablet.get(reverse("consult:tones", args=[again.visit.client.pk]))

    assert "The same mix again, today" in page.text
