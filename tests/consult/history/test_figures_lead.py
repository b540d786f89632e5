"""Where a figure leads, on screen and on paper, and a client's page to the repeat tones."""

import datetime as dt
import io
import re

import pytest
from django.test import Client as Browser
from django.urls import reverse
from pypdf import PdfReader

from consult import results_files
from consult.history import kept_figures
from consult.views import owner as owner_views
from salon.access import BENCH
from salon.models import AuditEvent, Role, Salon, Staff
from tests.factories.history import Past
from tests.factories.salon import StaffFactory
from tests.typed import SignIn


@pytest.fixture
def past(salon: Salon, owner: Staff, now: dt.datetime) -> Past:
    return Past(salon, owner, now)


@pytest.fixture
def stylists(salon: Salon) -> list[Staff]:
    return [
        StaffFactory(salon=salon, role=Role.STYLIST, display_name=name, has_column=True)
        for name in ("Tomasz", "Oluchi")
    ]


@pytest.fixture
def laptop(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


def test_the_list_behind_a_figure_prints_the_same_visits(
    past: Past, stylists: list[Staff], laptop: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = past.visit(past.client("Ola"), past.line("Tidepool"), stylists[0], days_ago=9)
    past.visit(
        past.client("Bea"), past.line("Tidepool"), stylists[1], days_ago=5, corrects=first
    )
    assert reverse("consult:visit_list_pdf") in laptop.get(reverse("consult:visit_list")).text

    def printed(**asked: str) -> str:
        answer = laptop.post(reverse("consult:visit_list_pdf"), asked)
        pages = PdfReader(io.BytesIO(answer.content)).pages
        return " ".join(" ".join(page.extract_text() for page in pages).split())

    redone = printed(kind="redone")
    assert all(words in redone for words in ("Redone", "1 visit ·", "Ola", "Tidepool"))
    assert "Bea" not in redone
    monkeypatch.setattr(results_files, "MOST_ON_PAPER", 1)
    every = printed()
    assert "Bea" in every
    assert "Ola" not in every
    assert "These are the latest 1. The CSV file has all of them." in every
    assert laptop.post(reverse("consult:visit_list_pdf"), {"kind": "x"}).status_code == 302
    assert AuditEvent.objects.filter(kind="results exported").count() == 2


def test_every_redone_figure_opens_the_visits_that_were_redone(
    past: Past, stylists: list[Staff], laptop: Browser
) -> None:
    line, ola = past.line("Tidepool"), past.client("Ola")
    poor = past.visit(ola, line, stylists[0], days_ago=20)
    past.visit(ola, line, stylists[1], days_ago=10, corrects=poor)

    page = laptop.get(reverse("consult:histories")).text

    found = re.findall(r'href="(/histories/visits/[?][^"]*kind=redone[^"]*)"', page)
    addresses = {address.replace("&amp;", "&") for address in found}
    asked = [name for found in addresses for name in re.findall("&(line|stylist)=", found)]
    assert set(asked) == {"line", "stylist"}
    assert len(addresses) == 3, "of all visits, of the line and of the stylist"
    for address in addresses:
        listed = laptop.get(address).text
        rows = re.findall(r'/visits/([0-9]+)/"', listed[listed.index("<main") :])
        assert rows == [str(poor.pk)]


def test_repeat_tones_are_one_press_from_the_client_for_every_role_that_may(
    past: Past, stylists: list[Staff], client_for: SignIn
) -> None:
    client = past.client("Ola")
    past.visit(client, past.line("Tidepool"), stylists[0], days_ago=20)
    address = reverse("consult:tones", args=[client.pk])
    staff = {role: StaffFactory(salon=past.salon, role=role) for role in Role}

    for role, person in staff.items():
        browser = client_for(person)
        page = browser.get(reverse("clients:detail", args=[client.pk])).text
        may = browser.get(address).status_code == 200
        assert may == (role in BENCH)
        assert (f'href="{address}"' in page) == may


def test_the_list_behind_a_figure_goes_on_to_the_first_visit_of_its_time(
    past: Past, stylists: list[Staff], laptop: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    line = past.line("Tidepool")
    visits = [
        past.visit(past.client(f"Client {n}"), line, stylists[n % 2], days_ago=n + 1)
        for n in range(7)
    ]
    for visit in visits[2:]:  # the others keep no figures
        kept_figures.keep([visit.pk], salon=past.salon)
    monkeypatch.setattr(owner_views, "PAGE", 3)
    address, found = reverse("consult:visit_list") + "?kind=untested", []
    while address:
        text = laptop.get(address).text
        assert "7 visits" in text
        found += re.findall(r'/visits/([0-9]+)/"', text[text.index("<main") :])
        onward = re.search(r'rel="next"\s+href="([^"]+)"', text)
        address = ""
        if onward:
            address = reverse("consult:visit_list") + onward[1].replace("&amp;", "&")
    assert found == [str(visit.pk) for visit in visits]

    file = laptop.post(
        reverse("consult:results_csv"), {"table": "visits", "kind": "untested"}
    ).text
    assert all(f"Client {n}" in file for n in range(7))
