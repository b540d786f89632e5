"""Consents, hair history and alerts: services and pages."""

import datetime as dt

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.test import Client as Browser

from clients import selectors
from clients.models import AlertKind, Client, ConsentKind, DeskPolicy, HairHistoryEntry, Service
from clients.services import (
    add_hair_history,
    raise_alert,
    record_consent,
    withdraw_hair_history,
)
from salon.append_only import AppendOnlyError
from salon.models import Salon, Staff
from tests.clients.conftest import TODAY, at_clock
from tests.factories.clients import ClientFactory
from tests.typed import SignIn

YEAR = dt.timedelta(days=365)


pytestmark = pytest.mark.usefixtures("clock")


@pytest.fixture
def henna(person: Client, stylist: Staff, now: dt.datetime) -> HairHistoryEntry:
    return add_hair_history(
        client=person, work="henna", origin="told", happened_date=TODAY - YEAR, by=stylist,
        at=now,
    )  # fmt: skip


def test_a_consent_is_kept_with_its_words_and_withdrawn_as_easily(
    desk: Browser, person: Client
) -> None:
    given = {"kind": "photos", "is_given": "1"}

    desk.post(f"/clients/{person.pk}/consent/", given)
    assert "Given" in desk.get(f"/clients/{person.pk}/care/").text
    desk.post(f"/clients/{person.pk}/consent/", {**given, "is_given": "0"})

    rows = list(person.consents.order_by("pk"))
    assert [row.is_given for row in rows] == [True, False]
    assert "takes photos of my hair" in rows[0].wording
    assert not selectors.consents_in_force(client=person)["photos"].is_given


def test_an_unknown_consent_is_refused(desk: Browser, person: Client) -> None:
    response = desk.post(f"/clients/{person.pk}/consent/", {"kind": "x", "is_given": "1"})

    assert response.status_code == 422
    assert not person.consents.exists()


def test_a_consent_cannot_be_rewritten(
    person: Client, stylist: Staff, now: dt.datetime
) -> None:
    row = record_consent(
        client=person, kind=ConsentKind.PHOTOS, wording="yes", is_given=True, by=stylist, at=now
    )

    row.is_given = False
    with pytest.raises(AppendOnlyError):
        row.save()


def test_hair_history_tells_what_was_told_from_what_was_seen(
    desk: Browser, person: Client
) -> None:
    desk.post(
        f"/clients/{person.pk}/hair-history/",
        {"work": "box_colour", "origin": "told", "happened_date": "2025-10-01"},
    )
    desk.post(
        f"/clients/{person.pk}/hair-history/",
        {"work": "lightening", "origin": "observed", "happened_date": "2026-01-01"},
    )

    page = desk.get(f"/clients/{person.pk}/care/").text
    assert "box colour" in page
    assert "reported by the client" in page
    assert "seen on the hair" in page


def test_hair_history_in_the_future_is_refused(
    desk: Browser, person: Client, stylist: Staff, now: dt.datetime
) -> None:
    response = desk.post(
        f"/clients/{person.pk}/hair-history/",
        {"work": "henna", "origin": "told", "happened_date": "2026-05-01"},
    )

    assert response.status_code == 422
    assert "is in the future" in response.text
    with pytest.raises(ValidationError):
        add_hair_history(
            client=person, work="henna", origin="told", happened_date=TODAY + YEAR,
            by=stylist, at=now,
        )  # fmt: skip
    with pytest.raises(IntegrityError), transaction.atomic():
        HairHistoryEntry.objects.create(
            client=person, work="henna", origin="told", happened_date=TODAY + YEAR,
            recorded_at=now, recorded_date=TODAY, recorded_by=stylist,
        )  # fmt: skip


def test_two_years_back_are_shown_and_the_rest_on_request(
    desk: Browser, person: Client, stylist: Staff, now: dt.datetime
) -> None:
    for years, note in ((1, "recent"), (3, "long ago")):
        add_hair_history(
            client=person, work="colour", origin="told", note=note,
            happened_date=TODAY - years * YEAR, by=stylist, at=now,
        )  # fmt: skip

    assert "long ago" not in desk.get(f"/clients/{person.pk}/care/").text
    assert "long ago" in desk.get(f"/clients/{person.pk}/care/?all=1").text


def test_a_wrong_entry_is_withdrawn_and_stays_on_record(
    desk: Browser, person: Client, henna: HairHistoryEntry
) -> None:
    desk.post(f"/hair-history/{henna.pk}/withdraw/", {"text": "it was her sister"})

    assert "henna" not in desk.get(f"/clients/{person.pk}/care/?all=1").text.split("<form")[0]
    assert HairHistoryEntry.objects.count() == 2
    assert "it was her sister" in desk.get(f"/clients/{person.pk}/").text
    assert desk.get(f"/hair-history/{henna.pk}/withdraw/").status_code == 404


def test_an_entry_is_withdrawn_once(
    henna: HairHistoryEntry, stylist: Staff, now: dt.datetime
) -> None:
    withdraw_hair_history(entry=henna, note="wrong", by=stylist, at=now)

    with pytest.raises(ValidationError):
        withdraw_hair_history(entry=henna, note="again", by=stylist, at=now)


def test_an_alert_shows_everywhere_until_it_is_lifted_with_a_reason(
    desk: Browser, person: Client, cut: Service
) -> None:
    from tests.factories.clients import AppointmentFactory

    one = AppointmentFactory(client=person, service=cut, starts_at=at_clock(11))
    desk.post(f"/clients/{person.pk}/alerts/", {"kind": "allergy", "text": "Latex"})
    pages = [
        f"/clients/{person.pk}/",
        f"/clients/{person.pk}/care/",
        f"/clients/{person.pk}/patch-tests/place/",
        f"/appointments/{one.pk}/",
        f"/appointments/new/?client={person.pk}",
    ]
    assert all("Latex" in desk.get(page).text for page in pages)

    alert = person.alerts.get()
    assert desk.post(f"/alerts/{alert.pk}/lift/", {"text": ""}).status_code == 422
    desk.post(f"/alerts/{alert.pk}/lift/", {"text": "tested negative"})

    assert selectors.alerts_in_force(client=person) == []
    assert "tested negative" in desk.get(f"/clients/{person.pk}/").text


def test_medical_notes_are_for_the_bench_unless_the_salon_says_otherwise(
    desk: Browser, client_for: SignIn, stylist: Staff, person: Client, now: dt.datetime
) -> None:
    alert = raise_alert(
        client=person, kind=AlertKind.MEDICAL, text="heart tablets", by=stylist, at=now
    )

    def shown(browser: Browser) -> bool:
        return "heart tablets" in browser.get(f"/clients/{person.pk}/").text

    assert shown(client_for(stylist))
    assert not shown(desk)
    assert "only they can read it" in desk.get(f"/clients/{person.pk}/").text
    assert desk.get(f"/alerts/{alert.pk}/lift/").status_code == 404
    DeskPolicy.objects.create(salon=person.salon, desk_sees_medical_notes=True)
    assert shown(desk)


@pytest.mark.parametrize(
    "path",
    ["/clients/{pk}/care/", "/clients/{pk}/consent/", "/clients/{pk}/hair-history/"],
)
def test_care_of_another_salons_client_does_not_exist(
    desk: Browser, other_salon: Salon, path: str
) -> None:
    pk = ClientFactory(salon=other_salon).pk
    method = desk.get if path.endswith("care/") else desk.post

    assert method(path.format(pk=pk)).status_code == 404
