"""Steps before the toner: kept, put right, and what the toner then stands on."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.urls import reverse

from consult import selectors, services
from consult.models import VisitStep
from tests.factories.consult import Story, zone
from tests.factories.preparation import lightened


def _at(name: str, *args: int) -> str:
    return reverse(f"consult:{name}", args=args)


# Steps


def test_a_step_keeps_what_was_done_and_what_it_reached(story: Story) -> None:
    step = lightened(story, uses_heat=True, heat_note="cap")

    assert step.strength_percent == Decimal(4)  # 6 % in 1 : 2, weighted mean
    assert step.number == 1
    assert [event.kind for event in story.visit.events.all()][-1] == "step recorded"


@pytest.mark.parametrize(
    ("percent", "ratio", "is_refused"),
    [("12", "1", False), ("18", "1", False), ("30", "1", True), ("18", "3", True)],
)
def test_more_than_twelve_percent_on_the_hair_is_refused(
    story: Story, percent: str, ratio: str, is_refused: bool
) -> None:
    """Regulation (EC) 1223/2009, Annex III, entry 12: the ready-to-use mixture counts."""
    mixed = {"developer_percent": Decimal(percent), "developer_ratio": Decimal(ratio)}

    if is_refused:
        with pytest.raises(services.StepRefused, match="12"):
            lightened(story, **mixed)
    else:
        strength = lightened(story, **mixed).strength_percent
        assert strength is not None
        assert strength <= 12


def test_a_correction_replaces_and_keeps_the_earlier_row(story: Story) -> None:
    wrong = lightened(story, product="Bleu powder")

    right = lightened(story, replaces=wrong)

    assert selectors.steps_in_force(story.visit) == [right]
    assert right.ended_at == wrong.ended_at
    assert VisitStep.objects.filter(visit=story.visit).count() == 2
    with pytest.raises(services.StepRefused, match="Someone changed this step"):
        lightened(story, replaces=wrong)


def test_a_step_taken_back_is_kept_but_counts_no_more(story: Story) -> None:
    step = lightened(story)

    services.take_back_step(step=step, by=story.by, at=story.later())

    assert selectors.steps_in_force(story.visit) == []
    assert VisitStep.objects.filter(visit=story.visit).count() == 2


def test_the_reading_starts_from_the_level_that_was_reached(
    story: Story, tablet: Browser
) -> None:
    story.answer()
    lightened(story, zones="mid_lengths,ends", level_reached=Decimal("9.5"))

    page = tablet.get(_at("hair", story.visit.pk)).text

    assert 'name="roots-lifted_level" inputmode' in page  # not reached: empty until read
    assert 'name="mid_lengths-lifted_level" value="9.5"' in page


def test_hair_lightened_after_its_reading_is_read_again(story: Story) -> None:
    story.answer().read()
    story.choose()
    story.sign()
    story.decide()
    lightened(story)

    for go_on in (story.choose, story.mix):
        with pytest.raises(services.OutOfOrder, match="Read it again"):
            go_on()
    story.read(roots=zone(lifted_level=Decimal("8.5")))

    assert story.choose()


def test_a_wash_after_the_reading_asks_for_no_new_one(story: Story) -> None:
    story.answer().read()
    lightened(story, kind="cleansing", developer_percent=None, developer_ratio=None)

    assert story.choose()


def test_a_start_in_the_future_is_refused(story: Story) -> None:
    with pytest.raises(services.StepRefused, match="future"):
        lightened(story, started_at=story.at + dt.timedelta(hours=2))


def _copy(row: Any, **changes: Any) -> Callable[[], object]:
    fields = {f.attname: getattr(row, f.attname) for f in row._meta.concrete_fields}
    del fields["id"]
    return lambda: type(row)(**{**fields, **changes}).save()


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"zones": "beard"}, "step_known_words"),
        ({"product": ""}, "step_known_words"),
        ({"strength_percent": Decimal("12.01")}, "step_peroxide_within_the_limit"),
        ({"developer_ratio": None}, "step_peroxide_within_the_limit"),
        ({"minutes": 601}, "step_minutes_make_sense"),
        ({"level_reached": Decimal("8.3")}, "step_level_in_half_steps"),
        ({"is_taken_back": True}, "step_taken_back_names_which"),
        ({"number": 1}, "step_number_once|consult_visitstep.visit_id"),
    ],
)
def test_a_step_that_makes_no_sense_stands_in_no_row(
    story: Story, changes: dict[str, object], name: str
) -> None:
    write = _copy(lightened(story), **{"number": 2, **changes})

    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        write()


def test_a_step_ends_after_it_started(story: Story) -> None:
    step = lightened(story)
    late = step.ended_at + dt.timedelta(minutes=1)

    for changes in ({"started_at": late}, {"ended_at": late}):
        with (
            pytest.raises(IntegrityError, match="step_ends_after_it_started"),
            transaction.atomic(),
        ):
            _copy(step, number=2, **changes)()
