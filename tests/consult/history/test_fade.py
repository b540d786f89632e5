"""How toner fades by weeks: results beside the next visit's readings, with n or a sentence."""

import csv
import datetime as dt
import io
from collections.abc import Callable

import pytest
from django.test import Client as Browser
from django.urls import reverse

from consult.history import overview
from consult.history.question import Question
from consult.models import StepKind, VisitStep
from salon.models import Role, Salon, Staff
from tests.factories.history import ALL, Past
from tests.factories.salon import StaffFactory

SEEN = {ALL: (0.0, 0.0)}


@pytest.fixture
def past(salon: Salon, owner: Staff, now: dt.datetime) -> Past:
    return Past(salon, owner, now)


@pytest.fixture
def tomasz(salon: Salon) -> Staff:
    return StaffFactory(salon=salon, role=Role.STYLIST, display_name="Tomasz", has_column=True)


@pytest.fixture
def laptop(client_for: Callable[[Staff], Browser], owner: Staff) -> Browser:
    return client_for(owner)


def _question(past: Past, **asked: object) -> Question:
    today = past.now.date()
    return Question(past.salon, today - dt.timedelta(days=365), today, **asked)  # type: ignore[arg-type]


def _six_clients(past: Past, by: Staff, *, weeks: int = 5) -> None:
    """Six clients who came twice, so many weeks apart; their hair read at 8 each time."""
    line = past.line("Tidepool")
    for n in range(6):
        client = past.client(f"Client {n}")
        for back in (7 * weeks + 20, 20):
            past.visit(client, line, by, days_ago=back, seen=SEEN)


def test_results_are_compared_with_the_next_reading_by_weeks(past: Past, tomasz: Staff) -> None:
    _six_clients(past, tomasz)

    fade = overview.overview(_question(past), {}).fade

    by_first = {weeks.first: weeks for weeks in fade}
    assert [len(weeks.pairs) for weeks in fade] == [0, 6, 0, 0, 0], "each result once"
    four = by_first[4]
    predicted = past._prediction(
        past.line("Tidepool"), {"8 natural": 2.0, "8 strong violet-blue": 1.0}
    )
    seen = round(predicted["warmth_left_percent"]["value"])
    assert four.warmer is not None
    assert four.warmer.value == pytest.approx(100 - seen, abs=0.1), "the hair reads as before"
    assert four.lighter is not None
    assert four.lighter.value > 0
    assert four.clients == 6
    assert by_first[11].warmer is None


def test_hair_lightened_before_it_was_read_says_nothing_of_fading(
    past: Past, tomasz: Staff
) -> None:
    line, client = past.line("Tidepool"), past.client("Ola")
    past.visit(client, line, tomasz, days_ago=60, seen=SEEN)
    later = past.visit(client, line, tomasz, days_ago=20, seen=SEEN)
    assert overview.overview(_question(past), {}).faded == 1

    VisitStep.objects.create(
        visit=later, number=1, kind=StepKind.LIGHTENING, product="powder",
        zones="mid_lengths,ends",
        ended_at=later.opened_at - dt.timedelta(minutes=5), recorded_at=later.opened_at,
        recorded_by=tomasz,
    )  # fmt: skip

    assert overview.overview(_question(past), {}).faded == 0


def test_roots_are_new_hair(past: Past, tomasz: Staff) -> None:
    _six_clients(past, tomasz)

    assert overview.overview(_question(past, zone="roots"), {}).faded == 0
    assert overview.overview(_question(past, zone="ends"), {}).faded == 6


def test_page_list_file_and_paper_agree(past: Past, tomasz: Staff, laptop: Browser) -> None:
    _six_clients(past, tomasz)
    asked = {
        "first": (past.now - dt.timedelta(days=300)).date().isoformat(),
        "last": past.now.date().isoformat(),
    }
    page = laptop.get(reverse("consult:histories"), asked).text
    section = page[page.index('id="fade"') : page.index('id="by-client"')]

    assert "n&nbsp;=&nbsp;6" in section
    assert section.count("too few yet for a mean") == 4
    sent = laptop.post(reverse("consult:results_csv"), {"table": "fade", **asked})
    rows = list(csv.reader(io.StringIO(sent.content.decode("utf-8-sig"))))
    assert [row[:4] for row in rows[1:3]] == [["1", "3", "0", "0"], ["4", "5", "6", "6"]]
    warmer = float(rows[2][7])
    assert f"+{warmer:.0f} (" in section
    listed = laptop.get(
        reverse("consult:visit_list"), {"kind": "faded", "part": "4", **asked}
    ).text
    assert "6 visits" in listed
    paper = laptop.post(reverse("consult:results_pdf"), asked)
    assert paper.content.startswith(b"%PDF")


def test_too_little_is_said(past: Past, tomasz: Staff, laptop: Browser) -> None:
    past.visit(past.client("Ola"), past.line("Tidepool"), tomasz, days_ago=20, seen=SEEN)

    page = laptop.get(reverse("consult:histories")).text

    assert "Nothing to compare yet: a client with a result has to come again" in page


def test_hair_that_still_reads_deeper_has_faded_less(past: Past, tomasz: Staff) -> None:
    line = past.line("Tidepool")
    for n in range(6):
        for name, weeks, read in (("early", 2, 6.5), ("late", 9, 8.0)):
            client = past.client(f"{name} {n}")
            past.visit(client, line, tomasz, days_ago=7 * weeks + 9, seen=SEEN)
            past.visit(client, line, tomasz, days_ago=9, seen=SEEN, read=read)

    fade = {weeks.first: weeks for weeks in overview.overview(_question(past), {}).fade}

    early, late = fade[1].lighter, fade[8].lighter
    assert early is not None
    assert late is not None
    assert early.value < late.value
