"""A rinse long before time asks once for its reason, and can be undone for a minute."""

import datetime as dt
from decimal import Decimal

import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse

from consult import services
from consult.models import ProcessingMark, RinseReason, Visit
from tests.factories.consult import Story
from tests.typed import Answer


@pytest.fixture
def rinsed(story: Story) -> Story:
    """A bowl of twenty minutes that was rinsed after two."""
    story.to_bench()
    (bowl,) = story.mix()
    services.start_processing(bowl=story.fresh(bowl), by=story.by, at=story.later())
    services.end_processing(bowl=story.fresh(bowl), by=story.by, at=story.later(2))
    return story


def _post(tablet: Browser, story: Story, name: str, **data: object) -> Answer:
    bowl = story.visit.bowls.get()
    version = Visit.objects.get(pk=story.visit.pk).version
    address = reverse(f"consult:{name}", args=[story.visit.pk, bowl.pk])
    return tablet.post(address, {"version": version, **data})


def _bench(tablet: Browser, story: Story, seconds: int) -> str:
    with time_machine.travel(story.at + dt.timedelta(seconds=seconds), tick=False):
        return tablet.get(reverse("consult:bench", args=[story.visit.pk])).text


def test_the_reason_is_asked_until_it_is_given_and_only_once(
    rinsed: Story, tablet: Browser
) -> None:
    assert "Why so early?" in _bench(tablet, rinsed, 5)

    _post(tablet, rinsed, "why_early", reason="there")
    _post(tablet, rinsed, "why_early", reason="wish")
    _post(tablet, rinsed, "why_early", reason="?")

    assert [row.reason for row in RinseReason.objects.all()] == ["there"]
    page = _bench(tablet, rinsed, 5)
    assert "Why so early?" not in page
    assert "The colour was already there" in page


def test_undone_within_a_minute_the_clock_runs_on_from_its_start(
    rinsed: Story, tablet: Browser
) -> None:
    bowl = rinsed.visit.bowls.get()
    start = bowl.marks.get(kind="start").marked_at
    assert "Undo: it is still on the hair" in _bench(tablet, rinsed, 40)

    with time_machine.travel(rinsed.at + dt.timedelta(seconds=40), tick=False):
        _post(tablet, rinsed, "undo_end")

    facts = rinsed.facts
    assert [state.started_at for state in facts.running] == [start]
    assert ProcessingMark.everything.filter(kind="end").count() == 1  # it stays on record
    services.end_processing(bowl=rinsed.fresh(bowl), by=rinsed.by, at=rinsed.later(18))
    assert rinsed.fresh(bowl).minutes_on(bowl.formula.zones) == 20
    assert ProcessingMark.everything.filter(kind="end").count() == 2


def test_after_a_minute_the_rinse_stays(rinsed: Story, tablet: Browser) -> None:
    bowl = rinsed.fresh(rinsed.visit.bowls.get())

    assert "Undo: it is still" not in _bench(tablet, rinsed, 61)
    with pytest.raises(services.RinseRefused, match="minute"):
        services.undo_rinse(bowl=bowl, by=rinsed.by, at=rinsed.later(2))

    assert not rinsed.facts.running


def test_in_time_nobody_is_asked(story: Story, tablet: Browser) -> None:
    story.to_bench().process(19)

    assert "Why so early?" not in _bench(tablet, story, 5)


def test_the_result_page_that_rinsed_leads_to_undoes_it_too(
    story: Story, tablet: Browser
) -> None:
    story.to_bench().process(19)
    address = reverse("consult:result", args=[story.visit.pk])

    def page(seconds: int) -> str:
        with time_machine.travel(story.at + dt.timedelta(seconds=seconds), tick=False):
            return tablet.get(address).text

    assert "Undo: it is still on the hair" in page(40)
    assert "Undo: it is still on the hair" not in page(61)
    with time_machine.travel(story.at + dt.timedelta(seconds=40), tick=False):
        answer = _post(tablet, story, "undo_end")
    assert answer.headers["Location"] == reverse("consult:bench", args=[story.visit.pk])
    story.visit.refresh_from_db()
    assert story.facts.running
    assert "Undo: it is still on the hair" not in page(45)


def test_a_result_that_was_saved_since_leaves_nothing_to_undo(
    story: Story, tablet: Browser
) -> None:
    story.to_bench().process(19)
    ended = story.at
    services.see_result(
        visit=story.visit, zones="roots,mid_lengths,ends", level=Decimal("6.5"),
        warmth_left_percent=45, by=story.by, at=ended + dt.timedelta(seconds=20),
    )  # fmt: skip

    with time_machine.travel(ended + dt.timedelta(seconds=30), tick=False):
        page = tablet.get(reverse("consult:result", args=[story.visit.pk])).text

    assert "Undo: it is still" not in page
