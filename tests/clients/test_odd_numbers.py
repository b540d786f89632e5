"""Numbers and days in addresses and hidden fields that are none."""

import pytest
from django.test import Client as Browser

from clients.models import Client, Service
from salon.models import Staff
from salon.numbers import row_number
from tests.typed import SignIn


@pytest.mark.parametrize(
    "text", ["", "²", "٣", "-1", "1.0", " 1", "9" * 19, "9" * 5000, "1\x00"]
)
def test_what_names_no_row_is_no_number(text: str) -> None:
    assert row_number(text) is None
    assert row_number("12") == 12


@pytest.mark.parametrize("text", ["²", "9" * 5000])
def test_a_number_that_is_none_leads_on_and_never_falls_over(
    client_for: SignIn, receptionist: Staff, person: Client, text: str
) -> None:
    desk: Browser = client_for(receptionist)

    assert desk.get("/appointments/new/", {"client": text}).status_code == 200
    assert desk.get("/waiting/new/", {"client": text}).status_code == 302
    assert (
        desk.post(f"/clients/{person.pk}/household/join/", {"other": text}).status_code == 404
    )
    assert desk.post("/clients/merge/", {"kept": text, "merged": text}).status_code == 404


def test_a_day_that_no_diary_reaches_becomes_today(
    client_for: SignIn, receptionist: Staff, person: Client, cut: Service
) -> None:
    desk: Browser = client_for(receptionist)

    for day in ("0001-01-01", "9999-12-31", "x", "2026-02-30"):
        answer = desk.get("/appointments/new/", {"client": person.pk, "day": day})
        assert answer.status_code == 200
