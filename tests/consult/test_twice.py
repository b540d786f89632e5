"""A double click and the back button: every form of a visit that comes again is saved once."""

import uuid
from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse

from consult.agreement.planning import field_name
from consult.models import (
    BowlMixed,
    Choice,
    Formula,
    HairFacts,
    PreTest,
    ProcessingMark,
    ResultSeen,
    SignOff,
    Status,
    Visit,
    VisitStep,
)
from consult.screens import client_view
from tests.consult.bench.test_bench_posted import _sheet
from tests.consult.hair.test_preparation_pages import _step
from tests.consult.test_forms_posted import ALL, _hair, _mix, _signing
from tests.factories.consult import NO_TO_ALL, Story


class Walk:
    """Sends each form twice, as it stands, and remembers it."""

    def __init__(self, story: Story, tablet: Browser) -> None:
        self.story, self.tablet = story, tablet
        self.sent: list[tuple[str, dict[str, Any], str]] = []

    def visit(self) -> Visit:
        return Visit.objects.get(pk=self.story.visit.pk)

    def twice(self, name: str, form: dict[str, Any], *args: int) -> None:
        before = self.visit().version
        address = reverse(f"consult:{name}", args=[self.story.visit.pk, *args])
        form = {**form, "version": before, "once": str(uuid.uuid4())}
        first, second = (self.tablet.post(address, form) for _press in range(2))
        assert first.status_code == 302, name
        assert second.headers["Location"] == first.headers["Location"], name
        assert self.visit().version == before + 1, name
        self.sent.append((address, form, first.headers["Location"]))

    def back_and_again(self) -> None:
        """Go back to every page that was sent and send it as it still stands there."""
        before = self.visit().version
        for address, form, led_to in self.sent:
            assert self.tablet.post(address, form).headers["Location"] == led_to
        assert self.visit().version == before


@pytest.fixture
def walk(story: Story, tablet: Browser) -> Walk:
    return Walk(story, tablet)


def test_every_form_of_a_visit_sent_twice_is_saved_once(walk: Walk, story: Story) -> None:
    walk.twice("safety", NO_TO_ALL)
    walk.twice("pre_tests", {"kind": "elasticity", "zone": "ends", "result": "slow"})
    walk.twice("steps", _step())
    walk.twice("correct_step", _step(minutes="40"), VisitStep.objects.get().pk)
    walk.twice("take_back_step", {}, VisitStep.objects.latest("pk").pk)
    walk.twice("hair", _hair())
    walk.twice("choice", {field_name(ALL): "40"})
    walk.twice("sign", _signing(story))
    walk.twice("formula", _mix(story))
    walk.twice("bench", _sheet(Formula.objects.get()))
    walk.twice("start", {}, BowlMixed.objects.get().pk)
    walk.twice("end", {}, BowlMixed.objects.get().pk)
    whole = "roots-mid_lengths-ends"
    seen = {f"{whole}-depth": "0", f"{whole}-warmth": "0", "evenness": "even"}
    walk.twice("result", seen)
    walk.back_and_again()
    walk.twice("card", {"next_visit_date": ""})
    walk.back_and_again()

    assert walk.visit().status == Status.CLOSED
    once = (PreTest, HairFacts, Choice, SignOff, Formula, BowlMixed, ResultSeen)
    assert [kind.objects.count() for kind in once] == [1] * len(once)
    assert VisitStep.objects.count() == 3  # recorded, put right, taken back
    assert ProcessingMark.objects.count() == 2
    assert walk.visit().events.count() == walk.visit().version


def test_in_the_clients_hands_too(walk: Walk, story: Story, tablet: Browser) -> None:
    story.answer().read()
    session = tablet.session
    session[client_view.KEY] = story.visit.pk
    session.save()

    walk.twice("client_choice", {field_name(ALL): "40"})
    walk.twice("client_sign", _signing(story))
    walk.back_and_again()

    assert (Choice.objects.count(), SignOff.objects.count()) == (1, 1)


def test_a_visit_is_ended_without_colour_once(walk: Walk) -> None:
    walk.twice("stop", {"reason": "Hair too fragile"})
    walk.back_and_again()

    assert walk.visit().status == Status.STOPPED
