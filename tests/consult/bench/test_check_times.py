"""Looks while a bowl processes: the line's own marks, told with one tap, kept for good."""

import datetime as dt

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.urls import reverse

from consult import selectors, services
from consult.bench import check_times
from consult.models import BowlMixed, ProcessingCheck
from tests.factories.consult import Story


@pytest.fixture
def running(story: Story) -> Story:
    """A bowl that has just gone on the hair; its line asks to look after 10 and 15 minutes."""
    line = story.visit.line
    line.check_minutes = [10, 15]
    line.save()
    story.to_bench()
    (bowl,) = story.mix()
    services.start_processing(bowl=story.fresh(bowl), by=story.by, at=story.later())
    return story


def _bowl(story: Story) -> BowlMixed:
    return selectors.bowls_of(story.visit)[0]


def _look(
    story: Story, minutes: float, *, seen: str = "warm", zones_key: str = ""
) -> ProcessingCheck:
    bowl = _bowl(story)
    bowl.visit = story.visit
    at = bowl.marks.get(kind="start").marked_at + dt.timedelta(minutes=minutes)
    return services.note_check(bowl=bowl, by=story.by, at=at, seen=seen, zones_key=zones_key)


def test_a_look_counts_for_the_mark_that_is_due(running: Story) -> None:
    early, first, second = _look(running, 4), _look(running, 10), _look(running, 15.5)

    assert [early.mark_minutes, first.mark_minutes, second.mark_minutes] == [None, 10, 15]
    assert [mark.is_noted for mark in check_times.marks_of(_bowl(running))] == [True, True]


def test_the_same_look_told_twice_is_one(running: Story) -> None:
    assert _look(running, 10) == _look(running, 10.1)

    assert ProcessingCheck.objects.count() == 1


def test_nobody_looks_before_the_start_or_after_the_rinse(running: Story) -> None:
    with pytest.raises(services.MarkRefused):
        _look(running, -1)
    services.end_processing(
        bowl=running.fresh(_bowl(running)), by=running.by, at=running.later(20)
    )
    with pytest.raises(services.MarkRefused):
        _look(running, 21)


def test_a_part_rinsed_early_has_its_own_minutes(running: Story) -> None:
    _look(running, 12, seen="rinsed", zones_key="ends")
    with pytest.raises(services.MarkRefused, match="already"):
        _look(running, 13, seen="rinsed", zones_key="ends")
    running.later(20)
    services.end_processing(bowl=running.fresh(_bowl(running)), by=running.by, at=running.at)

    bowl = _bowl(running)
    assert (bowl.minutes_on("ends"), bowl.minutes_on("roots")) == (12, 20)


def test_all_that_a_bowl_serves_is_rinsed_by_its_own_button(running: Story) -> None:
    with pytest.raises(services.MarkRefused, match="other parts"):
        _look(running, 12, seen="rinsed", zones_key="roots,mid_lengths,ends")


def test_the_database_wants_the_zones_of_a_rinse(running: Story) -> None:
    bowl = _bowl(running)
    at = bowl.marks.get().marked_at
    told = {"bowl": bowl, "started_at": at, "checked_by": running.by, "seen": "rinsed"}

    with pytest.raises(IntegrityError, match="rinsed_names_zones"), transaction.atomic():
        ProcessingCheck.objects.create(**told, checked_at=at)
    with pytest.raises(IntegrityError, match="after_the_start"), transaction.atomic():
        ProcessingCheck.objects.create(
            **told, zones="ends", checked_at=at - dt.timedelta(minutes=1)
        )
    ProcessingCheck.objects.create(**told, zones="ends", checked_at=at)
    with pytest.raises(IntegrityError), transaction.atomic():
        ProcessingCheck.objects.create(**told, zones="ends", checked_at=at)
    with pytest.raises(IntegrityError, match="seen_known"), transaction.atomic():
        ProcessingCheck.objects.create(**{**told, "seen": "?"}, checked_at=at)


def test_one_tap_redraws_the_bowl(running: Story, tablet: Browser) -> None:
    bowl = _bowl(running)
    address = reverse("consult:check", args=[running.visit.pk, bowl.pk])

    with time_machine.travel(running.at + dt.timedelta(minutes=10), tick=False):
        page = tablet.get(reverse("consult:bench", args=[running.visit.pk]))
        told = tablet.post(address, {"seen": "nearly"}, headers={"HX-Request": "true"})

    assert 'data-mark="10"' in page.text
    assert told.status_code == 200
    assert "nearly there" in told.text
    assert 'data-mark="10" data-noted' in told.text


def test_nonsense_is_not_kept(running: Story, tablet: Browser) -> None:
    address = reverse("consult:check", args=[running.visit.pk, _bowl(running).pk])

    for told in ({}, {"seen": "?"}, {"seen": "warm", "zones_key": "fringe"}):
        assert tablet.post(address, told).status_code == 302

    assert not ProcessingCheck.objects.exists()


def test_marks_past_the_formula_s_own_time_are_left_out(running: Story) -> None:
    bowl = _bowl(running)
    bowl.formula.processing_minutes = 12

    assert [mark.minutes for mark in check_times.marks_of(bowl)] == [10]


def test_today_shows_what_is_on_the_hair_until_it_is_rinsed(
    running: Story, tablet: Browser
) -> None:
    address = reverse("consult:today")
    assert len(tablet.get(address).context["running"]) == 1
    assert "On the hair now" in tablet.get(address).text

    services.end_processing(
        bowl=running.fresh(_bowl(running)), by=running.by, at=running.later(20)
    )

    assert tablet.get(address).context["running"] == []


def test_of_a_visit_s_bowls_only_those_on_the_hair_are_running(running: Story) -> None:
    bowls = selectors.bowls_of(running.visit)
    assert [one.bowl for one in check_times.of_visit(bowls)] == list(bowls)

    services.end_processing(
        bowl=running.fresh(_bowl(running)), by=running.by, at=running.later(20)
    )

    assert check_times.of_visit(selectors.bowls_of(running.visit)) == []
