"""Each page's queries: counted, and the same however much is on record."""

import datetime as dt
from collections import Counter

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from time_machine import TimeMachineFixture

from salon.models import Salon, Staff
from tests.consult.test_views import STEPS, _told_to
from tests.factories.consult import Story, checked_in, cleared_client, opened, stocked_line
from tests.typed import SignIn

# Session, user, salon and visit 4 on every page, whether this look was noted just now 1;
# whether the client withdrew the consent 1, who else has the visit open 1;
# the gate 9 (policy, the consent, the person's entries
# once, tests, readings, reactions, answers twice, override), the alerts 2. The visit's facts
# take 1 for its events and up to 12 more, each table that has rows once. Visit and hair also
# ask which tests are called for (8). Every page's cover asks what is on the hair (1), formula
# and bench the salon's amounts (1), the bench the shelf (1); of a merged person the gate also
# asks which records are confirmed. What is offered follows the salon's practice (2) and the
# bowl, so the choice asks for amounts and the last bowl too (2). The rest is the page's own.
BUDGETS = {
    "visit": 36,
    "safety": 24,
    "hair": 39,
    "choice": 33,
    "sign": 27,
    "formula": 37,
    "bench": 33,
    "result": 38,
    "card": 41,
}


def _count(tablet: Browser, address: str) -> int:
    tablet.get(address)  # what is cached per process is worked out once
    with CaptureQueriesContext(
        connection,
    ) as captured:
        response = tablet.get(address)
    assert response.status_code == 200
    return len(captured)


def test_a_slow_machine_adds_nothing_to_what_is_counted(
    stylist: Staff, now: dt.datetime, client_for: SignIn, time_machine: TimeMachineFixture
) -> None:
    """That somebody is at the screen is noted now and then; no count may hold that."""
    time_machine.move_to(now, tick=False)
    tablet, address = client_for(stylist), reverse("consult:today")
    at_once = _count(tablet, address)
    tablet.get(address)
    time_machine.move_to(now + dt.timedelta(minutes=2), tick=False)
    with CaptureQueriesContext(connection) as captured:
        tablet.get(address)

    assert len(captured) == at_once


@pytest.mark.parametrize("step", ["visit", *STEPS])
def test_a_page_keeps_its_budget(story: Story, tablet: Browser, step: str) -> None:
    if step != "visit":
        _told_to(story, step)

    assert _count(tablet, reverse(f"consult:{step}", args=[story.visit.pk])) <= BUDGETS[step]


def test_the_formula_page_reads_the_shelf_and_the_earlier_visits_once(
    story: Story, tablet: Browser
) -> None:
    _told_to(story, "formula")
    address = reverse("consult:formula", args=[story.visit.pk])

    with CaptureQueriesContext(connection) as captured:
        tablet.get(address)

    asked = Counter(query["sql"] for query in captured.captured_queries)
    again = {sql.split("FROM")[1].split()[0] for sql, times in asked.items() if times > 1}
    assert again == set()


def test_an_overview_does_not_grow_with_visits(
    salon: Salon, stylist: Staff, tablet: Browser, now: dt.datetime
) -> None:
    opened(salon, stylist=stylist, at=now - dt.timedelta(days=90)).to_end()
    story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=2))
    address = reverse("consult:visit", args=[story.visit.pk])
    before = _count(tablet, address)

    for days in (60, 30):
        opened(salon, stylist=stylist, at=now - dt.timedelta(days=days)).to_end()

    assert _count(tablet, address) == before


def test_tones_do_not_grow_with_visits(
    salon: Salon, stylist: Staff, tablet: Browser, now: dt.datetime
) -> None:
    story = opened(salon, stylist=stylist, at=now - dt.timedelta(days=99))
    story.to_end()
    address = reverse("consult:tones", args=[story.visit.client_id])
    before = _count(tablet, address)

    for days in (60, 30):
        opened(salon, stylist=stylist, at=now - dt.timedelta(days=days)).to_end()

    assert (
        _count(tablet, address) == before <= 34
    )  # two ask for the consent and whether this look was noted


def test_histories_do_not_grow_with_clients(
    salon: Salon, owner: Staff, client_for: SignIn, now: dt.datetime
) -> None:
    browser = client_for(owner)
    opened(salon, stylist=owner, at=now - dt.timedelta(hours=3)).to_end()
    before = _count(browser, reverse("consult:histories"))

    for name in ("Berta", "Cleo"):
        opened(salon, stylist=owner, at=now - dt.timedelta(hours=3), name=name).to_end()

    assert _count(browser, reverse("consult:histories")) == before <= 44


def test_today_does_not_grow_with_clients(
    salon: Salon, stylist: Staff, tablet: Browser, now: dt.datetime
) -> None:
    line = stocked_line(salon, by=stylist, at=now)

    def seat(name: str) -> None:
        client = cleared_client(salon, line, by=stylist, at=now, name=name)
        checked_in(client, line, stylist=stylist, starts_at=now)

    seat("Ada")
    before = _count(tablet, reverse("consult:today"))

    seat("Berta")
    seat("Cleo")

    assert _count(tablet, reverse("consult:today")) == before <= 17
