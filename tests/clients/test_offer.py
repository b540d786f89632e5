"""Services, chairs and the week's hours, as the owner keeps them."""

import datetime as dt

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client as Browser

from clients import services
from clients.models import Chair, OpeningHours, Service, Status
from salon.models import Salon, Staff
from tests.factories.clients import (
    AppointmentFactory,
    ChairFactory,
    ServiceFactory,
    ToneFactory,
)
from tests.typed import SignIn

TONE = {
    "name": "Tone and finish",
    "application_minutes": "30",
    "processing_minutes": "25",
    "finish_minutes": "35",
    "is_colour": "on",
}


@pytest.fixture
def laptop(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


def test_an_owner_adds_a_service_that_can_be_booked(laptop: Browser, salon: Salon) -> None:
    answer = laptop.post("/services/new/", TONE)

    assert answer.headers["Location"] == "/services/"
    assert Service.objects.get(salon=salon).minutes == 90
    assert "Tone and finish" in laptop.get("/services/").text


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("application_minutes", "32", "steps of five minutes"),
        ("application_minutes", "0", "least five minutes"),
        ("is_patch_test", "on", "puts no colour on hair"),
        ("name", "Cut", "already in use"),
    ],
)
def test_a_service_that_makes_no_sense_is_refused(
    laptop: Browser, salon: Salon, field: str, value: str, said: str
) -> None:
    ServiceFactory(salon=salon, name="Cut")

    answer = laptop.post("/services/new/", {**TONE, field: value})

    assert answer.status_code == 422
    assert said in answer.text


def test_what_is_booked_keeps_its_times_and_its_kind(laptop: Browser, salon: Salon) -> None:
    """A tone that stopped being colour would walk past the patch test."""
    tone = ToneFactory(salon=salon)
    AppointmentFactory(client__salon=salon, service=tone, status=Status.BOOKED)

    answer = laptop.post(
        f"/services/{tone.pk}/",
        {**TONE, "is_colour": "", "no_test_reason": "no dye", "is_active": "on"},
    )

    assert answer.status_code == 422
    assert "1 appointment is booked" in answer.text
    tone.refresh_from_db()
    assert tone.is_colour


def test_a_booked_service_can_be_renamed_and_retired(
    salon: Salon, owner: Staff, now: dt.datetime
) -> None:
    tone = ToneFactory(salon=salon)
    AppointmentFactory(client__salon=salon, service=tone)

    services.change_service(service=tone, by=owner, at=now, name="Gloss", is_active=False)

    assert Service.objects.get(name="Gloss").is_active is False


def test_a_chair_is_added_and_retired(laptop: Browser, salon: Salon) -> None:
    laptop.post("/chairs/new/", {"name": "Window"})
    chair = Chair.objects.get(salon=salon)
    laptop.post(f"/chairs/{chair.pk}/", {"name": "Window"})

    chair.refresh_from_db()
    assert chair.is_active is False
    assert laptop.post("/chairs/new/", {"name": "Window"}).status_code == 422


def test_another_salons_offer_is_not_found(laptop: Browser, other_salon: Salon) -> None:
    service, chair = ServiceFactory(salon=other_salon), ChairFactory(salon=other_salon)

    assert laptop.get(f"/services/{service.pk}/").status_code == 404
    assert laptop.get(f"/chairs/{chair.pk}/").status_code == 404


def test_only_an_owner_changes_the_offer(
    salon: Salon, stylist: Staff, owner: Staff, other_salon: Salon, now: dt.datetime
) -> None:
    with pytest.raises(PermissionDenied):
        services.add_chair(by=stylist, at=now, name="Window")
    with pytest.raises(PermissionDenied):
        services.change_chair(
            chair=ChairFactory(salon=other_salon), by=owner, at=now, name="Window"
        )


def _week(**changes: str) -> dict[str, str]:
    open_days = {f"open-{day}": "on" for day in range(6)}
    times = {f"{k}-{d}": v for d in range(7) for k, v in (("from", "09:00"), ("to", "18:00"))}
    return {**open_days, **times, **changes}


def test_the_whole_week_is_set_at_once(laptop: Browser, salon: Salon) -> None:
    laptop.post("/hours/week/", _week(**{"to-5": "14:00"}))

    rows = {row.weekday: row for row in OpeningHours.objects.filter(salon=salon)}
    assert len(rows) == 7
    assert rows[5].closes_at == dt.time(14)
    assert not rows[6].is_open


def test_a_week_that_closes_before_it_opens_changes_nothing(
    laptop: Browser, salon: Salon
) -> None:
    answer = laptop.post("/hours/week/", _week(**{"to-2": "08:00"}))

    assert answer.status_code == 422
    assert "later than opening" in answer.text
    assert not OpeningHours.objects.exists()
    assert laptop.post("/hours/week/", {"closed": "all"}).status_code == 422
