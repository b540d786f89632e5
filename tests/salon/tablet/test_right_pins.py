"""A right PIN costs nobody a try, however often the tablet changes hands."""

from django.test import Client as Browser

from salon.models import DEVICE_TRIES, Device, Role, Staff
from tests.salon.tablet.conftest import switch, whose


def test_a_right_pin_gives_its_own_try_back(
    tablet: Browser, device: Device, team: dict[str, Staff]
) -> None:
    hands = [team[Role.RECEPTIONIST], team[Role.STYLIST]]

    for turn in range(DEVICE_TRIES + 2):
        person = hands[turn % 2]
        switch(tablet, person)
        assert whose(tablet) == person.pk

    device.refresh_from_db()
    assert device.wrong_pins == 0


def test_wrong_pins_of_others_are_not_given_back_by_a_right_one(
    tablet: Browser, device: Device, team: dict[str, Staff]
) -> None:
    switch(tablet, team[Role.OWNER], "941873")
    switch(tablet, team[Role.RECEPTIONIST])

    device.refresh_from_db()
    assert device.wrong_pins == 1
