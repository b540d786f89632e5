"""Closed days: one, a range, and the public holidays of the salon's country."""

import datetime as dt
from collections.abc import Callable

import pytest
import time_machine
from django.core.management import call_command
from django.test import Client as Browser
from django.urls import reverse
from pytest_django import Settings

from clients.diary import opening, public_holidays
from clients.models import ClosedDay
from clients.services import enter_yearly
from salon.models import AuditEvent, Salon, Staff

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


# Irish and British law move what falls on a weekend in different ways: Ireland leaves it (the
# Act of 1997), Britain takes Monday and Tuesday (Banking and Financial Dealings Act 1971).
YEARLY = "/hours/holidays/yearly/"


def _days(key: str) -> list[str]:
    return [f"{row.date}" for row in ClosedDay.objects.filter(holiday=key).order_by("date")]


@time_machine.travel(NOW, tick=False)
def test_holidays_chosen_once_are_closed_each_following_year(
    boss: Browser, salon: Salon
) -> None:
    Salon.objects.filter(pk=salon.pk).update(country="IE")
    assert "Easter Monday" in boss.get(YEARLY).text

    boss.post(YEARLY, {"names": ["Easter Monday", "Christmas Day"]})

    christmas = [f"{year}-12-25" for year in (2026, 2027, 2028)]
    assert _days("Christmas Day") == christmas
    # Easter Monday by the tables of the Gregorian calendar; this year's is over.
    assert _days("Easter Monday") == ["2027-03-29", "2028-04-17"]
    with time_machine.travel(NOW.replace(year=2027), tick=False):
        call_command("retain")
        call_command("retain")
        assert _days("Christmas Day") == [*christmas, "2029-12-25"]
        assert _days("Easter Monday")[-1] == "2029-04-02"
        assert opening.hours_on(salon=salon, day=dt.date(2029, 12, 25)) is None
    assert "2 each year, entered until 2029" in boss.get("/hours/").text
    assert not ClosedDay.objects.exclude(reason__in=["Easter Monday", "Christmas Day"]).exists()
    assert AuditEvent.objects.filter(kind="yearly holidays chosen").count() == 1


@time_machine.travel(NOW, tick=False)
def test_a_yearly_holiday_opens_for_one_year_and_stays_open(
    boss: Browser, salon: Salon
) -> None:
    Salon.objects.filter(pk=salon.pk).update(country="IE")
    boss.post(YEARLY, {"names": ["Easter Monday", "Christmas Day"]})
    boss.post(f"/hours/closed/{ClosedDay.objects.get(date='2027-03-29').pk}/open/")

    call_command("retain")
    boss.post(YEARLY, {"names": ["Easter Monday", "May Day"]})

    assert _days("Easter Monday") == ["2028-04-17"]
    assert _days("May Day") == ["2027-05-03", "2028-05-01"]
    assert _days("Christmas Day") == [], "not chosen any more"


@time_machine.travel(NOW, tick=False)
def test_a_day_taken_instead_belongs_to_its_holiday_and_a_day_closed_by_hand_stays(
    boss: Browser, salon: Salon
) -> None:
    Salon.objects.filter(pk=salon.pk).update(country="GB")
    ClosedDay.objects.create(salon=salon, date=dt.date(2027, 12, 25), reason="Ours")

    boss.post(YEARLY, {"names": ["Christmas Day"]})
    boss.post(YEARLY, {"names": []})

    assert _closed() == [("2027-12-25", "Ours")]
    boss.post(YEARLY, {"names": ["Christmas Day"]})
    assert _days("Christmas Day") == ["2026-12-25", "2027-12-27", "2028-12-25"]


@time_machine.travel(NOW, tick=False)
def test_a_salon_that_moved_is_asked_again_and_closes_nothing_of_the_old_country(
    boss: Browser, salon: Salon
) -> None:
    Salon.objects.filter(pk=salon.pk).update(country="IE")
    boss.post(YEARLY, {"names": ["Christmas Day"]})
    Salon.objects.filter(pk=salon.pk).update(country="DE")

    salon.refresh_from_db()
    assert enter_yearly(salon=salon, at=NOW.replace(year=2028)) == []
    assert "The country has changed" in boss.get("/hours/").text
    assert "Chosen for IE; the salon is in DE now" in boss.get(YEARLY).text
    refused = boss.post(f"{YEARLY}?area=BY", {"names": ["x"]})
    assert refused.status_code == 422
    boss.post(f"{YEARLY}?area=BY", {"names": ["Corpus Christi"]})
    assert _days("Corpus Christi") == ["2027-05-27", "2028-06-15"]
    assert _days("Christmas Day") == []
