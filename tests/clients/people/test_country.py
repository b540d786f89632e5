"""Phone numbers typed without a country are of the salon's, wherever they are typed."""

import pytest
from django.test import Client as Browser

from clients.models import Client
from clients.people import import_values, search_text
from salon.models import Salon, Staff
from tests.typed import SignIn

DETAILS = {
    "name": "Corner House", "phone": "01 496 0101", "address": "", "time_zone": "Europe/Dublin",
    "currency": "EUR",
}  # fmt: skip


@pytest.fixture
def boss(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


def test_the_salons_own_number_and_a_clients_follow_the_country(
    boss: Browser, salon: Salon
) -> None:
    assert boss.post("/salon/details/", {**DETAILS, "country": "ie"}).status_code == 302
    salon.refresh_from_db()
    assert (salon.country, salon.phone) == ("IE", "+353 1 496 0101")

    boss.post(
        "/clients/new/", {"name": "Maeve", "phone": "087 123 4567", "contact_by": "phone"}
    )

    assert str(Client.objects.get(name="Maeve").phone) == "+353871234567"
    assert "Maeve" in boss.get("/find/", {"q": "087 123"}).text


@pytest.mark.parametrize("country", ["", "I", "XX", "IRL", "12"])
def test_no_country_is_refused_beside_its_field(
    boss: Browser, salon: Salon, country: str
) -> None:
    answer = boss.post("/salon/details/", {**DETAILS, "country": country})

    assert answer.status_code == 422
    assert 'id="id_country_error"' in answer.text
    salon.refresh_from_db()
    assert salon.country == ""


def test_lists_and_the_find_box_take_it_too() -> None:
    assert import_values.phone("087 123 4567", region="IE") == ("+353871234567", "")
    digits = {d for one in search_text.readings("087 1234567", region="IE") for d in one.digits}
    assert "871234567" in digits
