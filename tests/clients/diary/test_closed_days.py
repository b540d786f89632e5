"""Closed days: one, a range, and the public holidays of the salon's country."""

import datetime as dt
from collections.abc import Callable

import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse
from pytest_django import Settings

from clients.diary import public_holidays
from clients.models import ClosedDay
from salon.models import Salon, Staff

NOW = dt.datetime(2026, 11, 29, 12, 0, tzinfo=dt.UTC)


@pytest.fixture
def boss(client_for: Callable[[Staff], Browser], owner: Staff) -> Browser:
    return client_for(owner)


def _closed() -> list[tuple[str, str]]:
    return [(f"{row.date}", row.reason) for row in ClosedDay.objects.order_by("date")]


def test_a_range_closes_each_of_its_days(boss: Browser) -> None:
    boss.post(
        "/hours/closed/", {"date": "2027-08-02", "last": "2027-08-04", "reason": "Summer"}
    )
    boss.post("/hours/closed/", {"date": "2027-08-04", "reason": "again"})

    assert _closed() == [(f"2027-08-0{n}", "Summer") for n in (2, 3, 4)]


@pytest.mark.parametrize("last", ["2027-08-01", "2027-10-31", "x"])
def test_a_range_that_makes_no_sense_is_refused_beside_its_field(
    boss: Browser, last: str
) -> None:
    page = boss.post("/hours/closed/", {"date": "2027-08-02", "last": last, "reason": "Summer"})

    assert page.status_code == 422
    assert 'id="id_closed_last_error"' in page.text
    assert f'value="{last}"' in page.text
    assert 'value="Summer"' in page.text
    assert _closed() == []


def test_the_holidays_of_2027_in_ireland_are_those_of_the_act() -> None:
    """Organisation of Working Time Act 1997, second schedule, with St Brigid's Day (2023)."""
    found = public_holidays.of_year(country="IE", area="", year=2027)

    assert [f"{one.date:%m-%d}" for one in found] == [
        "01-01", "02-01", "03-17", "03-29", "05-03", "06-07", "08-02", "10-25", "12-25",
        "12-26",
    ]  # fmt: skip


def test_an_area_adds_its_own_days_and_names_follow_the_reader(
    settings: Settings,
) -> None:
    from django.utils import translation

    with translation.override("de"):
        country = public_holidays.of_year(country="DE", area="", year=2027)
        bavaria = public_holidays.of_year(country="DE", area="BY", year=2027)

    assert "Tag der Deutschen Einheit" in {one.name for one in country}
    added = {one.name for one in bavaria} - {one.name for one in country}
    assert "Fronleichnam" in added


@time_machine.travel(NOW, tick=False)
def test_the_owner_closes_on_those_that_are_ticked(boss: Browser, salon: Salon) -> None:
    Salon.objects.filter(pk=salon.pk).update(country="IE")
    ClosedDay.objects.create(salon=salon, date=dt.date(2027, 1, 1), reason="New Year")
    address = reverse("clients:public_holidays") + "?year=2027"
    page = boss.get(address).text
    assert "2027-03-17" in page
    assert "2027-01-01" not in page, "closed already"

    refused = boss.post(address, {})
    boss.post(address, {"dates": ["2027-03-17", "2027-12-25"]})

    assert refused.status_code == 422
    assert "Tick at least one day." in refused.text
    assert [day for day, _why in _closed()] == ["2027-01-01", "2027-03-17", "2027-12-25"]
    assert "2027-03-17" not in boss.get(address).text


@time_machine.travel(NOW, tick=False)
def test_days_that_were_not_offered_are_refused(boss: Browser, salon: Salon) -> None:
    Salon.objects.filter(pk=salon.pk).update(country="IE")

    answer = boss.post(reverse("clients:public_holidays"), {"dates": ["2026-12-02", "x"]})

    assert answer.status_code == 422
    assert _closed() == []


def test_a_country_without_known_holidays_is_said(boss: Browser, salon: Salon) -> None:
    Salon.objects.filter(pk=salon.pk).update(country="AC")  # Ascension Island

    assert "The holidays of AC are not known" in boss.get("/hours/holidays/").text
