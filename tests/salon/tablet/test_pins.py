"""What a PIN may be, how it is kept, and that guessing it is counted for good."""

import datetime as dt
import threading
from collections.abc import Callable
from unittest import mock

import pytest
from django.contrib.auth.hashers import MD5PasswordHasher
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.test import Client as Browser
from django.test import override_settings

from salon import settings as product_settings
from salon.models import AuditEvent, Device, Role, Salon, Staff, StaffPin
from salon.tablet import pins, services
from tests.factories.salon import StaffFactory
from tests.salon.tablet.conftest import PASSWORD, PINS, switch, whose

WRONG = "941873"


@pytest.mark.parametrize(
    ("pin", "why"),
    [
        ("111111", "the same"), ("000000", "the same"), ("123456", "follow one another"),
        ("890123", "follow one another"),
        ("654321", "follow one another"), ("121212", "repeats"),
        ("384384", "repeats"), ("776777", "repeats"), ("147258", "keys on the pad"),
        ("198473", "year of birth"), ("471984", "year of birth"), ("200547", "year of birth"),
        ("290284", "a date"), ("022984", "a date"), ("840229", "a date"),
    ],
)  # fmt: skip
def test_an_easy_pin_is_refused_with_its_reason(pin: str, why: str) -> None:
    """The kinds of PIN that people pick first: common practice, no source."""
    assert why in (pins.weakness(pin) or "")


@pytest.mark.parametrize("pin", [*PINS.values(), WRONG, "604918", "099604", "733581"])
def test_other_pins_are_taken(pin: str) -> None:
    assert pins.weakness(pin) is None


def test_most_pins_are_left() -> None:
    """Refusing too much would itself make guessing easier."""
    sample = range(0, 1_000_000, 397)

    weak = sum(pins.weakness(f"{number:06}") is not None for number in sample)

    assert weak / len(sample) < 0.12


def test_the_service_refuses_an_easy_pin_too(stylist: Staff, now: dt.datetime) -> None:
    with pytest.raises(ValidationError, match="follow one another"):
        services.set_pin(by=stylist, pin="123456", at=now)

    assert not StaffPin.objects.exists()


def test_in_a_salon_a_pin_is_hashed_by_argon2_and_bound_to_its_owner(
    stylist: Staff, owner: Staff
) -> None:
    hashers = product_settings.PASSWORD_HASHERS
    with override_settings(PASSWORD_HASHERS=hashers):
        secret = pins.hashed(staff_id=stylist.pk, pin=WRONG)

        assert secret.startswith("argon2$argon2id$")
        assert pins.matches(staff_id=stylist.pk, pin=WRONG, secret=secret)
        assert not pins.matches(staff_id=owner.pk, pin=WRONG, secret=secret)


def test_a_pin_outlives_a_change_of_the_secret_key(stylist: Staff) -> None:
    with override_settings(SECRET_KEY="the old one" * 5):
        secret = pins.hashed(staff_id=stylist.pk, pin=WRONG)

    with override_settings(SECRET_KEY_FALLBACKS=["the old one" * 5]):
        assert pins.matches(staff_id=stylist.pk, pin=WRONG, secret=secret)
    assert not pins.matches(staff_id=stylist.pk, pin=WRONG, secret=secret)


def test_a_person_sets_changes_and_removes_their_pin(
    team: dict[str, Staff], sign_in: Callable[..., Browser]
) -> None:
    person = team[Role.STYLIST]
    browser = sign_in(person)

    changed = browser.post(
        "/your-pin/", {"pin": "604918", "again": "٦٠٤٩١٨", "password": PASSWORD}
    )
    secret = StaffPin.objects.get(staff=person).secret
    assert changed.status_code == 302
    assert pins.matches(staff_id=person.pk, pin="604918", secret=secret)

    refused = browser.post("/your-pin/remove/", {"password": "wrong"})
    assert refused.status_code == 422
    assert StaffPin.objects.filter(staff=person).exists()
    removed = browser.post("/your-pin/remove/", {"password": PASSWORD})
    assert removed.status_code == 302
    assert not StaffPin.objects.filter(staff=person).exists()
    kinds = AuditEvent.objects.filter(actor_id=person.pk).values_list("kind", flat=True)
    assert {"PIN set", "PIN removed"} <= set(kinds)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"password": "wrong"}, "not the password"),
        ({"again": "604919"}, "The two PINs differ"),
        ({"pin": "111111", "again": "111111"}, "All its digits are the same."),
        ({"pin": "60491", "again": "60491"}, "A PIN has six digits."),
        ({"pin": "6049a8", "again": "6049a8"}, "A PIN has six digits."),
        ({"pin": ""}, "This field is required"),
    ],
)
def test_a_pin_is_not_set(
    team: dict[str, Staff],
    sign_in: Callable[..., Browser],
    changes: dict[str, object],
    told: str,
) -> None:
    browser = sign_in(team[Role.STYLIST])
    before = StaffPin.objects.get(staff=team[Role.STYLIST]).secret

    answer = browser.post(
        "/your-pin/", {"pin": "604918", "again": "604918", "password": PASSWORD, **changes}
    )

    assert answer.status_code == 422
    assert told in answer.text
    assert StaffPin.objects.get(staff=team[Role.STYLIST]).secret == before


def test_guessing_the_password_there_is_throttled_as_signing_in_is(
    team: dict[str, Staff], sign_in: Callable[..., Browser]
) -> None:
    browser = sign_in(team[Role.STYLIST])

    for _guess in range(6):
        last = browser.post("/your-pin/remove/", {"password": "guess"})

    assert last.status_code == 429


def test_five_wrong_tries_switch_a_pin_off_until_its_owner_gives_the_password(
    tablet: Browser, team: dict[str, Staff], sign_in: Callable[..., Browser]
) -> None:
    owner = team[Role.OWNER]

    answers = [switch(tablet, owner, WRONG) for _ in range(5)]
    right = switch(tablet, owner)

    assert [answer.status_code for answer in answers] == [422] * 5
    assert right.status_code == 422  # off, although right
    assert StaffPin.objects.get(staff=owner).is_off
    sign_in(owner)
    assert switch(tablet, owner).status_code == 302
    kinds = list(AuditEvent.objects.filter(target_id=owner.pk).values_list("kind", flat=True))
    assert kinds.count("PIN refused") == 4
    assert kinds.count("PIN switched off") == 1
    assert kinds.count("PIN switched on") == 1


def test_a_right_pin_forgets_the_wrong_ones(tablet: Browser, team: dict[str, Staff]) -> None:
    for _ in range(3):
        switch(tablet, team[Role.OWNER], WRONG)

    switch(tablet, team[Role.OWNER])

    assert StaffPin.objects.get(staff=team[Role.OWNER]).wrong_tries == 0


def test_a_device_stops_taking_pins_after_ten_wrong_ones_until_a_full_login(
    tablet: Browser,
    team: dict[str, Staff],
    enrolled: tuple[Device, str],
    sign_in: Callable[..., Browser],
) -> None:
    for role in (Role.OWNER, Role.RECEPTIONIST):
        for _ in range(5):
            switch(tablet, team[role], WRONG)

    assert switch(tablet, team[Role.STYLIST]).status_code == 422
    assert StaffPin.objects.get(staff=team[Role.STYLIST]).wrong_tries == 0
    again = sign_in(team[Role.STYLIST], token=enrolled[1])
    assert switch(again, team[Role.STYLIST]).status_code == 302


def test_every_refusal_says_the_same(
    tablet: Browser, team: dict[str, Staff], other_salon: Salon
) -> None:
    stranger = StaffFactory(salon=other_salon)
    services.set_pin(by=stranger, pin=PINS[Role.OWNER], at=dt.datetime.now(tz=dt.UTC))
    without = StaffFactory(salon=tablet_salon(team))
    gone = team[Role.OWNER]
    gone.is_active = False
    gone.save()

    told = {
        _error(tablet.post("/switch/", {"staff": pk, "pin": PINS[Role.OWNER]}).text)
        for pk in (team[Role.RECEPTIONIST].pk, stranger.pk, without.pk, gone.pk, 999_999)
    }

    assert len(told) == 1
    assert whose(tablet) == team[Role.STYLIST].pk


def tablet_salon(team: dict[str, Staff]) -> Salon:
    return team[Role.STYLIST].salon


def _error(page: str) -> str:
    start = page.index("This PIN was not accepted")
    return page[start : page.index("</li>", start)]


@pytest.mark.parametrize("kind", ["wrong", "unknown", "off"])
def test_every_refusal_takes_the_same_work(
    tablet: Browser, team: dict[str, Staff], device: Device, kind: str
) -> None:
    """The number of slow hashes, not the time: a timed test would say little."""
    owner = team[Role.OWNER]
    if kind == "off":
        StaffPin.objects.filter(staff=owner).update(wrong_tries=5)
    who = 999_999 if kind == "unknown" else owner.pk

    with mock.patch.object(
        MD5PasswordHasher, "encode", autospec=True, side_effect=MD5PasswordHasher.encode
    ) as work:
        tablet.post("/switch/", {"staff": who, "pin": WRONG})

    assert work.call_count == 1


def test_a_count_survives_whatever_happens_to_the_request(
    tablet: Browser, team: dict[str, Staff]
) -> None:
    with (
        mock.patch("salon.tablet.services.audit.record_event", side_effect=RuntimeError),
        pytest.raises(RuntimeError),
    ):
        switch(tablet, team[Role.OWNER], WRONG)

    assert StaffPin.objects.get(staff=team[Role.OWNER]).wrong_tries == 1
    assert Device.objects.get().wrong_pins == 1


@pytest.mark.django_db(transaction=True)
def test_a_count_inside_another_transaction_is_refused(now: dt.datetime) -> None:
    """It would go back with that transaction."""
    owner = StaffFactory(role=Role.OWNER)
    device, _token = services.enrol_device(name="Counter", by=owner, at=now)

    with pytest.raises(RuntimeError, match="durable"), transaction.atomic():
        services.try_pin(staff_id=owner.pk, pin=WRONG, device=device, at=now)


@pytest.mark.parametrize("tries", [6, 100])
def test_the_database_keeps_counts_within_bounds(
    team: dict[str, Staff], device: Device, tries: int
) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        StaffPin.objects.filter(staff=team[Role.OWNER]).update(wrong_tries=tries)
    with pytest.raises(IntegrityError), transaction.atomic():
        Device.objects.update(wrong_pins=tries + 5)


@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor != "postgresql", reason="needs PostgreSQL")
def test_many_tries_at_once_gain_nothing(now: dt.datetime) -> None:
    """Counted first, compared afterwards: of twelve at the same moment five are looked at."""
    owner = StaffFactory(role=Role.OWNER)
    services.set_pin(by=owner, pin=PINS[Role.OWNER], at=now)
    device, _token = services.enrol_device(name="Counter", by=owner, at=now)
    gate = threading.Barrier(12)
    looked_at = []

    def guess() -> None:
        gate.wait()
        services.try_pin(staff_id=owner.pk, pin=WRONG, device=device, at=now)
        connection.close()

    with mock.patch.object(
        pins, "matches", side_effect=lambda **told: looked_at.append(told["secret"])
    ):
        crew = [threading.Thread(target=guess) for _ in range(12)]
        for thread in crew:
            thread.start()
        for thread in crew:
            thread.join()

    assert len([secret for secret in looked_at if secret]) == 5
    assert StaffPin.objects.get(staff=owner).wrong_tries == 5
