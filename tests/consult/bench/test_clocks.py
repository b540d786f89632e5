"""Clocks are always in sight: every page's bar, the cover of a locked screen, Today."""

import datetime as dt
import re
from decimal import Decimal

import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse

from consult import services
from consult.bench.next_act import next_acts
from consult.models import BowlMixed
from salon.models import Staff
from tests.factories.consult import Story, zone
from tests.typed import SignIn

STEPS = ("safety", "hair", "choice", "sign", "formula", "bench", "visit", "steps", "pre_tests")


@pytest.fixture
def running(story: Story) -> Story:
    story.to_bench()
    (bowl,) = story.mix()
    services.start_processing(bowl=story.fresh(bowl), by=story.by, at=story.later())
    return story


@pytest.mark.parametrize("step", STEPS)
def test_every_page_of_the_visit_has_the_clock_in_its_bar(
    running: Story, tablet: Browser, step: str
) -> None:
    with time_machine.travel(running.at + dt.timedelta(minutes=3), tick=False):
        page = tablet.get(reverse(f"consult:{step}", args=[running.visit.pk])).text

    bar = page[page.index('class="visit-foot"') : page.index('id="cover"')]
    start = running.visit.bowls.get().marks.get().marked_at
    assert len(re.findall(r"data-clock\s", bar)) == 1
    assert f'data-started-at="{start.astimezone(running.visit.salon.zone).isoformat()}"' in bar
    assert "Bowl 1: all of the hair" in bar


def test_the_cover_shows_clock_and_bowl_and_no_name(
    running: Story, tablet: Browser, client_for: SignIn, receptionist: Staff
) -> None:
    """On any page of those who work at the bench; the desk's screens show none."""
    with time_machine.travel(running.at + dt.timedelta(minutes=3), tick=False):
        page = tablet.get(reverse("consult:today")).text
        desk = client_for(receptionist).get(reverse("clients:day")).text
        locked = tablet.get(reverse("salon:own_pin")).text

    for shown in (page, locked):
        cover = shown[shown.index('id="cover"') : shown.index("<template>")]
        assert "A.B." in cover
        assert "Bowl 1: all of the hair" in cover
        assert "Ada" not in cover
        assert "Brandt" not in cover
    assert "data-clock" not in desk


def test_a_rinsed_bowl_has_no_clock(running: Story, tablet: Browser) -> None:
    bowl = running.visit.bowls.get()
    services.end_processing(bowl=running.fresh(bowl), by=running.by, at=running.later(20))

    page = tablet.get(reverse("consult:bench", args=[running.visit.pk])).text

    assert "data-clock" not in page


def _kinds(story: Story, at: dt.datetime) -> list[tuple[str, int | None]]:
    return [(act.kind, act.bowl) for act in next_acts(story.facts, at=at)]


def _start(story: Story, bowl: BowlMixed) -> None:
    services.start_processing(bowl=story.fresh(bowl), by=story.by, at=story.later(1))


def test_the_next_act_follows_what_is_in_the_bowls(story: Story) -> None:
    story.answer().read(roots=zone(lifted_level=Decimal("7.0")))
    story.choose()
    story.sign()
    story.decide()
    assert [kind for kind, _bowl in _kinds(story, story.at)] == ["mixed", "mixed"]

    first, second = story.mix()
    assert _kinds(story, story.at) == [("start", first.pk), ("start", second.pk)]
    _start(story, first)
    assert _kinds(story, story.at) == [("start", second.pk), ("rinsed", first.pk)]
    up = story.at + dt.timedelta(minutes=first.formula.processing_minutes)
    assert _kinds(story, up) == [("rinsed", first.pk), ("start", second.pk)]
    _start(story, second)
    assert _kinds(story, story.at) == [("rinsed", first.pk), ("rinsed", second.pk)]
    for bowl in (first, second):
        services.end_processing(bowl=story.fresh(bowl), by=story.by, at=story.later(20))
    assert _kinds(story, story.at) == []


def _act_in_bar(page: str) -> tuple[str, str]:
    """Return the form that the bar's main button sends, and its words."""
    bar = page[page.index('class="action-bar"') :]
    button = re.search(r'<button[^>]*button--primary"[^>]* form="(.*?)"[^>]*>(.*?)<', bar)
    assert button is not None
    return button[1], button[2].strip()


def test_the_bar_sends_the_form_of_the_next_act(story: Story, tablet: Browser) -> None:
    formula = story.to_bench().visit.formulas.get()
    address = reverse("consult:bench", args=[story.visit.pk])

    to_mix = tablet.get(address).text
    (bowl,) = story.mix()
    to_start = tablet.get(address).text

    assert _act_in_bar(to_mix) == (f"weigh-{formula.pk}", "Bowl mixed")
    assert _act_in_bar(to_start) == (f"act-{bowl.pk}", "On the hair: start the clock")
    bar = to_start[to_start.index('class="action-bar"') :]
    assert "Change the formula" not in bar
