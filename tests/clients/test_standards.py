"""iCalendar (RFC 5545, 7986), vCard (RFC 6350) and CSV (RFC 4180), checked from outside."""

import csv
import datetime as dt
import io
import re

import icalendar
import pytest
from django.test import Client as Browser
from pytest_django import DjangoAssertNumQueries

from clients.models import AlertKind, CalendarFeed, Client, Service, Status
from clients.people import csv_file, vcard
from clients.services import open_feed, raise_alert
from formulas.models import ProductLine
from salon.models import AuditEvent, Salon, Staff
from tests.clients.conftest import at_clock
from tests.factories.clients import AppointmentFactory, ClientFactory, PatchTestFactory
from tests.typed import SignIn, present

LONG = "Ольга Константиновна Преображенская-Wolfeschlegelsteinhausenbergerdorff 李小龍 " * 2


pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def feed(stylist: Staff, tone: Service, line: ProductLine, now: dt.datetime) -> bytes:
    client = ClientFactory(salon=stylist.salon, name=LONG[:120])
    raise_alert(client=client, kind=AlertKind.ALLERGY, text="Nickel", by=stylist, at=now)
    PatchTestFactory(client=client, line=line, applied_at=now)
    given = {"client": client, "service": tone, "line": line, "stylist": stylist}
    AppointmentFactory(starts_at=at_clock(11), note="itchy scalp", **given)
    AppointmentFactory(starts_at=at_clock(15), status=Status.CANCELLED, **given)
    AppointmentFactory(starts_at=at_clock(15))
    token = open_feed(by=stylist, at=now)
    response = Browser().get(f"/calendar/{token}.ics")
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    return response.content


def test_the_feed_is_read_by_the_icalendar_library(feed: bytes, tone: Service) -> None:
    events = icalendar.Calendar.from_ical(feed).walk("VEVENT")

    assert len(events) == 2
    assert events[0].decoded("dtstart") == at_clock(11)
    assert events[0].decoded("dtend") == at_clock(12, 15)
    assert str(events[0]["summary"]).endswith(tone.name)
    assert [str(event["status"]) for event in events] == ["CONFIRMED", "CANCELLED"]


def test_the_feed_keeps_the_rules_of_rfc_5545(feed: bytes) -> None:
    """3.1: lines end in CRLF and are at most 75 octets; 3.6: VERSION and PRODID once;
    3.6.1: every event has UID and DTSTAMP; 3.3.5: UTC times end in Z."""
    lines = feed.split(b"\r\n")

    assert b"\n" not in feed.replace(b"\r\n", b"")
    assert all(len(line) <= 75 for line in lines)
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert lines[-2:] == [b"END:VCALENDAR", b""]
    text = feed.replace(b"\r\n ", b"").decode()
    assert text.count("VERSION:2.0") == text.count("PRODID:") == 1
    uids = re.findall(r"^UID:(.+?)\r$", text, re.MULTILINE)
    assert len(uids) == len(set(uids)) == 2
    assert len(re.findall(r"^DTSTAMP:\d{8}T\d{6}Z\r$", text, re.MULTILINE)) == 2
    assert len(re.findall(r"^DTSTART:\d{8}T\d{6}Z\r$", text, re.MULTILINE)) == 2
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT15M" in text  # RFC 7986, 5.7


@pytest.mark.parametrize("secret", ["Nickel", "itchy", "patch", "Line"])
def test_the_feed_holds_nothing_of_health(feed: bytes, secret: str) -> None:
    assert secret not in feed.replace(b"\r\n ", b"").decode()


def test_a_feed_is_secret_and_revocable(
    client_for: SignIn, stylist: Staff, receptionist: Staff, now: dt.datetime
) -> None:
    page = client_for(stylist).post("/calendar/").text
    token = present(re.search(r"/calendar/([\w-]{40,})\.ics", page))[1]

    assert token not in CalendarFeed.objects.get().token_hash
    assert token not in client_for(stylist).get("/calendar/").text
    assert Browser().get(f"/calendar/{token}.ics").status_code == 200
    assert Browser().get("/calendar/nonsense.ics").status_code == 404
    assert client_for(receptionist).get("/calendar/").status_code == 403
    client_for(stylist).post("/calendar/close/")
    assert Browser().get(f"/calendar/{token}.ics").status_code == 404


def test_a_new_address_ends_the_old_one_and_leaving_ends_both(
    stylist: Staff, now: dt.datetime
) -> None:
    first = open_feed(by=stylist, at=now)
    second = open_feed(by=stylist, at=now)

    assert Browser().get(f"/calendar/{first}.ics").status_code == 404
    assert Browser().get(f"/calendar/{second}.ics").status_code == 200
    stylist.is_active = False
    stylist.save()
    assert Browser().get(f"/calendar/{second}.ics").status_code == 404


def test_a_feed_costs_a_fixed_number_of_queries(
    stylist: Staff, now: dt.datetime, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    token = open_feed(by=stylist, at=now)
    for hour in range(9, 18):
        AppointmentFactory(
            stylist=stylist, client=ClientFactory(salon=stylist.salon), starts_at=at_clock(hour)
        )

    # token with stylist and salon, appointments with client and service
    with django_assert_num_queries(2):
        Browser().get(f"/calendar/{token}.ics")


@pytest.fixture
def person(salon: Salon) -> Client:
    return ClientFactory(
        salon=salon, name="Ngozi, Adichie; the \\ second", known_as="Zoë",
        phone="+441174960101", email="ngozi@example.com", birth_date=dt.date(1988, 4, 12),
    )  # fmt: skip


def test_a_card_keeps_the_rules_of_rfc_6350(person: Client) -> None:
    """3.2: CRLF, 75 octets; 3.4: , ; and \\ are escaped; 6.2.5 BDAY; 6.4.1 TEL as a uri."""
    text = vcard.card(person).decode()

    assert text.startswith("BEGIN:VCARD\r\nVERSION:4.0\r\n")
    assert text.endswith("END:VCARD\r\n")
    assert "FN:Ngozi\\, Adichie\\; the \\\\ second\r\n" in text
    assert "TEL;VALUE=uri:tel:+441174960101\r\n" in text
    assert "BDAY:19880412\r\n" in text


def test_a_long_name_is_folded_between_letters(salon: Salon) -> None:
    octets = vcard.card(ClientFactory(salon=salon, name=LONG[:120]))

    assert all(len(line) <= 75 for line in octets.split(b"\r\n"))
    assert LONG[:120].strip() in octets.replace(b"\r\n ", b"").decode()


def test_cards_come_back_as_they_went_out(person: Client) -> None:
    row = vcard.read(vcard.card(person).decode())[0]

    assert row == [
        "Ngozi, Adichie; the \\ second", "Zoë", "+441174960101", "ngozi@example.com",
        "1988-04-12", "",
    ]  # fmt: skip


def test_a_card_of_version_3_with_groups_and_types_is_read() -> None:
    text = (
        "BEGIN:VCARD\r\nVERSION:3.0\r\nFN:Ann\r\n  Lee\r\nitem1.TEL;TYPE=CELL:0117 496 0101\r\n"
        "EMAIL;TYPE=INTERNET:ann@example.com\r\nBDAY:1990-05-01\r\nEND:VCARD\r\n"
    )

    assert vcard.read(text) == [
        ["Ann Lee", "", "0117 496 0101", "ann@example.com", "1990-05-01", ""]
    ]


def test_an_export_is_csv_that_no_spreadsheet_runs(
    client_for: SignIn, owner: Staff, salon: Salon
) -> None:
    ClientFactory(
        salon=salon, name='=HYPERLINK("http://x")', phone="+441174960101", note='say "hi",\nyes'
    )
    ClientFactory(salon=salon, name="@SUM(A1)", known_as="-2+3")

    response = client_for(owner).post("/clients/export.csv")
    octets = response.getvalue()

    rows = list(csv.reader(io.StringIO(octets.decode(), newline="")))
    cells = [cell for row in rows[1:] for cell in row]
    phone = "+44 117 496 0101"  # digits in groups: text to a spreadsheet, and no formula
    assert phone in cells
    cells.remove(phone)
    assert not [c for c in cells if c.startswith(("=", "+", "-", "@", "\t", "\r"))]
    assert 'say "hi",\nyes' in cells
    assert octets.endswith(b"\r\n")
    event = AuditEvent.objects.get()
    assert (event.kind, event.detail) == ("clients exported", {"format": "csv"})


def test_an_export_reads_back_as_it_went_out(
    client_for: SignIn, owner: Staff, salon: Salon, person: Client
) -> None:
    octets = client_for(owner).post("/clients/export.csv").getvalue()

    table = csv_file.read(octets)

    assert table.header == csv_file.COLUMNS
    assert [csv_file.plain(cell) for cell in table.rows[0]][:4] == [
        person.name, "Zoë", "+44 117 496 0101", "ngozi@example.com",
    ]  # fmt: skip


def test_an_export_as_cards_holds_everyone_of_the_salon(
    client_for: SignIn, owner: Staff, salon: Salon, other_salon: Salon
) -> None:
    ClientFactory.create_batch(3, salon=salon)
    ClientFactory(salon=other_salon)

    octets = client_for(owner).post("/clients/export.vcf").getvalue()

    assert octets.count(b"BEGIN:VCARD") == 3
