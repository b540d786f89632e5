"""Registering and changing clients through the pages."""

import pytest
from django.test import Client as Browser

from clients.models import Client
from salon.models import Salon
from tests.factories.clients import ClientFactory


@pytest.mark.usefixtures("clock")
def test_the_second_of_two_desks_keeps_what_they_typed_and_sees_what_changed(
    desk: Browser, person: Client
) -> None:
    typed = {"name": person.name, "birth_date": "1985-06-01", "contact_by": "email"}
    desk.post(f"/clients/{person.pk}/edit/", {**typed, "known_as": "Ngo", "version": "1"})

    response = desk.post(
        f"/clients/{person.pk}/edit/", {**typed, "known_as": "Zee", "version": "1"}
    )
    person.refresh_from_db()
    assert response.status_code == 409
    assert person.known_as == "Ngo"
    assert 'value="Zee"' in response.text
    assert "<bdi>Ngo</bdi>" in response.text
    assert 'name="version" value="2"' in response.text

    desk.post(f"/clients/{person.pk}/edit/", {**typed, "known_as": "Zee", "version": "2"})
    person.refresh_from_db()
    assert person.known_as == "Zee"


@pytest.mark.usefixtures("clock")
@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"phone": "12"}, "This is not a valid phone number"),
        ({"phone": "not a phone"}, "This is not a valid phone number"),
        ({"birth_date": "2030-01-01"}, "is in the future"),
        ({"birth_date": "1880-01-01"}, "more than 120 years ago"),
        ({"email": "nobody"}, "Enter a valid email"),
        ({"name": "   "}, "This field is required"),
    ],
)
def test_bad_clients_are_refused_beside_the_field(
    desk: Browser, changed: dict[str, str], message: str
) -> None:
    given = {"name": "Ann Lee", "contact_by": "email", **changed}

    response = desk.post("/clients/new/", given)

    assert response.status_code == 422
    assert message in response.text
    assert not Client.objects.exists()


@pytest.mark.usefixtures("clock")
def test_a_likely_duplicate_is_shown_before_a_second_entry_is_made(
    desk: Browser, salon: Salon
) -> None:
    ClientFactory(salon=salon, name="Siobhán Ní Dhálaigh")
    given = {"name": "Siobhan Ni Dhalaigh", "contact_by": "email"}

    asked = desk.post("/clients/new/", given)
    sure = desk.post("/clients/new/", {**given, "is_someone_else": "on"})

    assert asked.status_code == 422
    assert "Is it one of these clients?" in asked.text
    assert sure.status_code == 302
    assert Client.objects.count() == 2
