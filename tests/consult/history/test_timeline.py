"""A client's repeat tones: the picture, its runs, who may see it, how it is reached."""

import datetime as dt
import html
import re

import pytest
from django.urls import reverse

from consult.history import background, findings, looks
from consult.history.causes import Cause
from consult.models import Formula, FormulaLine
from salon.models import Role, Salon, Staff
from tests.factories.history import ALL, MIX, Past
from tests.factories.salon import StaffFactory
from tests.typed import SignIn


@pytest.fixture
def past(salon: Salon, owner: Staff, now: dt.datetime) -> Past:
    return Past(salon, owner, now)


def _found(past: Past, client: object) -> list[findings.Finding]:
    known = background.of_salon(salon=past.salon, at=past.now)
    return findings.of_person(looks.of_client(client), known)  # type: ignore[arg-type]


def test_build_up_on_the_ends_is_drawn_marked_and_said(
    past: Past, stylist: Staff, client_for: SignIn
) -> None:
    client, line = past.client("Maeve Hart"), past.line("Tidepool")
    for n in range(9):
        redo = past.visit(
            client, line, stylist, days_ago=42 * (9 - n),
            seen={"roots": past.as_usual(), "mid_lengths,ends": (0.12 * n, -2.0 * n)},
        )  # fmt: skip
    past.visit(
        client, line, stylist, days_ago=20, corrects=redo,
        seen={"roots": (0.0, 0.0), "mid_lengths,ends": (1.1, -20.0)},
    )  # fmt: skip

    found = [finding for finding in _found(past, client) if finding.is_current]
    assert {finding.cause for finding in found} == {Cause.BUILD_UP}
    assert {finding.zones for finding in found} == {"mid_lengths,ends"}

    browser = client_for(stylist)
    page = browser.get(reverse("consult:tones", args=[client.pk])).text
    assert "Mid-lengths and ends: getting deeper over" in page
    assert "Likely build-up on the mid-lengths and ends" in page
    assert page.count('class="through-time"') == 2
    ends = page[page.index('id="part-mid_lengths-ends"') :]
    svg = ends[ends.index('class="through-time"') : ends.index('class="tt-key"')]
    assert svg.count('class="tt-press"') == 10
    assert svg.count("tt-seen--outside") >= 1
    assert 'class="tt-run"' in svg
    assert 'class="tt-redo"' in svg
    assert 'class="tt-due"' in svg
    assert 'class="tt-fading"' in svg
    assert "6 wk" in svg
    assert "Corrects" in page
    assert "Corrected" in page
    assert "one run in 25 client-years" in page


def test_a_new_shade_and_a_new_reader_are_named(past: Past, stylist: Staff) -> None:
    line = past.line("Tidepool")
    shade, reader = past.client("One"), past.client("Two")
    other = StaffFactory(salon=past.salon, role=Role.STYLIST, display_name="Oluchi")
    for n in range(10):
        off = (0.9, 0.0) if n >= 5 else (0.0, 0.0)
        mix = MIX | {"9 violet": 1.0} if n >= 5 else MIX
        past.visit(shade, line, stylist, days_ago=42 * (10 - n), seen={ALL: off}, mix=mix)
        past.visit(
            reader, line, stylist, days_ago=42 * (10 - n), seen={ALL: off},
            reader=other if n >= 5 else stylist,
        )  # fmt: skip

    assert _found(past, shade)[0].cause == Cause.SHADE
    assert "9 violet" in _found(past, shade)[0].because
    assert _found(past, reader)[0].cause == Cause.READER
    assert "Oluchi" in _found(past, reader)[0].because


def test_a_line_whose_few_results_lean_the_same_way_is_named_with_the_hair(
    past: Past, stylist: Staff
) -> None:
    well_known, new = past.line("Tidepool"), past.line("Slatecliff")
    alone, one, two = (past.client(name) for name in ("Alone", "One", "Two"))
    others = [past.client(f"Other {n}") for n in range(6)]
    for n in range(6):
        days = 42 * (6 - n)
        for other in others:
            past.visit(other, well_known, stylist, days_ago=days, seen={ALL: past.as_usual()})
        past.visit(alone, well_known, stylist, days_ago=days, seen={ALL: (0.0, 20.0)})
        for client in (one, two):
            past.visit(client, new, stylist, days_ago=days, seen={ALL: (0.0, 20.0)})

    of_hair, of_line = _found(past, alone)[0], _found(past, one)[0]
    assert of_hair.cause == of_line.cause == Cause.HAIR
    assert "look at the hair first" in of_hair.because
    assert "may also be" not in of_hair.because, "six others of the line say otherwise"
    assert "It may also be \u2068Slatecliff\u2069: " in of_line.because
    assert "explain" not in of_line.because, "two clients are too few to rule a line out"


def test_with_few_results_nothing_is_claimed(
    past: Past, stylist: Staff, receptionist: Staff, client_for: SignIn
) -> None:
    client, line = past.client("New"), past.line("Tidepool")
    address = reverse("consult:tones", args=[client.pk])
    bench, desk = client_for(stylist), client_for(receptionist)

    assert "No colour visits yet" in bench.get(address).text
    past.visit(client, line, stylist, days_ago=42, seen={ALL: (1.0, 25.0)})
    page = bench.get(address).text
    assert "1 result so far. From the third on" in page
    assert "tt-run" not in re.sub(r'"tt-run"[^>]* d="M0 4h34"', "", page)

    record = reverse("clients:detail", args=[client.pk])
    assert f'href="{address}"' in bench.get(record).text
    assert f'href="{address}"' not in desk.get(record).text
    assert desk.get(address).status_code == 403


def test_any_two_visits_stand_side_by_side_and_the_last_is_booked_again(
    past: Past, stylist: Staff, client_for: SignIn
) -> None:
    client, line = past.client("Maeve Hart"), past.line("Tidepool")
    visits = [past.visit(client, line, stylist, days_ago=d) for d in (120, 80, 40)]
    other = past.visit(past.client("Ola"), line, stylist, days_ago=30)
    browser = client_for(stylist)
    address = reverse("consult:two_visits", args=[client.pk])

    def shown(**asked: int) -> list[str]:
        return re.findall(r'id="visit-(\d+)"', browser.get(address, asked).text)

    assert shown() == [str(visits[1].pk), str(visits[2].pk)]
    assert shown(left=visits[2].pk, right=visits[0].pk) == [
        str(visits[2].pk),
        str(visits[0].pk),
    ]
    assert browser.get(address, {"left": other.pk}).status_code == 422
    page = browser.get(reverse("clients:detail", args=[client.pk])).text
    again = re.search(r'href="(/appointments/new/[^"]*)">\s*Book the same again', page)
    assert again is not None
    booking = browser.get(html.unescape(again[1])).context["form"]
    assert booking["line"].value() == line.pk
    assert booking["stylist"].value() == stylist.pk


def test_a_closed_visit_lists_every_revision_of_its_formula(
    past: Past, stylist: Staff, client_for: SignIn
) -> None:
    visit = past.visit(past.client("Maeve Hart"), past.line("Tidepool"), stylist, days_ago=9)
    first = visit.formulas.get()
    fields = {f.attname: getattr(first, f.attname) for f in Formula._meta.concrete_fields}
    second = Formula.objects.create(**{**fields, "id": None, "revision": 2})
    natural, strong = first.lines.order_by("pk")
    for line, parts in ((natural, 1), (strong, 1)):
        FormulaLine.objects.create(
            formula=second, shade=line.shade, parts=parts, grams=line.grams
        )

    page = client_for(stylist).get(reverse("consult:visit", args=[visit.pk])).text

    assert re.findall(r"All of the hair, revision (\d)", page) == ["2", "1"]
    revisions = page[page.index('id="revisions"') :]
    assert revisions.index("1 part 8 natural") < revisions.index("2 parts 8 natural")
