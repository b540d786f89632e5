"""The owner's list of devices, and that a PIN counts on those alone."""

import datetime as dt
from collections.abc import Callable

import pytest
from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from pytest_django import DjangoAssertNumQueries

from salon.models import AuditEvent, Device, Role, Salon, Staff
from salon.tablet import cookie, services
from tests.factories.salon import StaffFactory
from tests.salon.tablet.conftest import PASSWORD, switch, whose


def test_an_owner_enrols_the_device_that_the_page_is_open_on(
    team: dict[str, Staff], sign_in: Callable[..., Browser]
) -> None:
    browser = sign_in(team[Role.OWNER])

    answer = browser.post("/salon/devices/enrol/", {"name": "Counter tablet"})

    device = Device.objects.get()
    kept = answer.cookies[settings.DEVICE_COOKIE_NAME]
    assert device.token_hash == cookie.hash_of(kept.value)
    assert kept.value not in device.token_hash
    assert kept["httponly"]
    assert kept["samesite"] == "Lax"
    assert (kept["path"], kept["domain"]) == ("/", "")
    assert "this one" in browser.get("/salon/devices/").text
    assert switch(browser, team[Role.STYLIST]).status_code == 302
    event = AuditEvent.objects.get(kind="device enrolled")
    assert (event.actor_id, event.detail) == (team[Role.OWNER].pk, {})


def test_in_a_salon_the_cookie_is_bound_to_the_host_and_to_https() -> None:
    """`__Host-` needs Secure, Path=/ and no Domain: RFC 6265bis, 4.1.3.2, from memory."""
    source = (settings.BASE_DIR / "salon" / "settings.py").read_text()

    assert 'DEVICE_COOKIE_NAME = "__Host-salon-device"' in source
    assert "SESSION_COOKIE_SECURE = not LOCAL" in source


@pytest.mark.parametrize("name", ["", "   ", "x" * 61])
def test_a_device_needs_a_name_that_fits(
    team: dict[str, Staff], sign_in: Callable[..., Browser], name: str
) -> None:
    answer = sign_in(team[Role.OWNER]).post("/salon/devices/enrol/", {"name": name})

    assert answer.status_code == 422
    assert not Device.objects.exists()


def test_a_device_is_enrolled_once(
    tablet: Browser,
    team: dict[str, Staff],
    enrolled: tuple[Device, str],
    sign_in: Callable[..., Browser],
) -> None:
    browser = sign_in(team[Role.OWNER], token=enrolled[1])

    browser.post("/salon/devices/enrol/", {"name": "Again"})

    assert Device.objects.count() == 1


def test_without_an_enrolled_device_a_pin_does_nothing(
    team: dict[str, Staff], sign_in: Callable[..., Browser]
) -> None:
    browser = sign_in(team[Role.STYLIST])

    assert browser.get("/switch/").status_code == 404
    assert switch(browser, team[Role.OWNER]).status_code == 404
    assert whose(browser) == team[Role.STYLIST].pk
    assert "Switch person" not in browser.get("/today/").text


def test_a_copied_cookie_does_not_carry_a_sitting_over(
    tablet: Browser,
    team: dict[str, Staff],
    enrolled: tuple[Device, str],
    sign_in: Callable[..., Browser],
) -> None:
    """Someone who signed in elsewhere and then got the cookie has no sitting of the device."""
    elsewhere = sign_in(team[Role.RECEPTIONIST])
    elsewhere.cookies[settings.DEVICE_COOKIE_NAME] = enrolled[1]

    assert switch(elsewhere, team[Role.OWNER]).status_code == 404


def test_without_its_cookie_an_enrolled_device_is_none(
    tablet: Browser, team: dict[str, Staff]
) -> None:
    del tablet.cookies[settings.DEVICE_COOKIE_NAME]

    assert switch(tablet, team[Role.OWNER]).status_code == 404


def test_a_pin_opens_nothing_where_nobody_has_signed_in(
    team: dict[str, Staff], enrolled: tuple[Device, str]
) -> None:
    browser = Browser()
    browser.cookies[settings.DEVICE_COOKIE_NAME] = enrolled[1]

    answer = switch(browser, team[Role.OWNER])

    assert answer.headers["Location"].startswith("/sign-in/")
    assert whose(browser) is None


def test_revoking_ends_pins_and_whatever_is_open_on_the_device(
    tablet: Browser, team: dict[str, Staff], device: Device, sign_in: Callable[..., Browser]
) -> None:
    owner = sign_in(team[Role.OWNER])

    owner.post(f"/salon/devices/{device.pk}/revoke/")

    assert tablet.get("/today/").headers["Location"].startswith("/sign-in/")
    assert whose(tablet) is None
    again = sign_in(team[Role.STYLIST], browser=tablet)
    assert switch(again, team[Role.OWNER]).status_code == 404
    assert again.get("/today/").status_code == 200
    assert AuditEvent.objects.get(kind="device revoked").actor_id == team[Role.OWNER].pk
    assert "Revoked 11 Mar 2026" in owner.get("/salon/devices/").text
    assert owner.post(f"/salon/devices/{device.pk}/revoke/").status_code == 404


def test_the_list_says_when_a_device_was_last_used(
    tablet: Browser, team: dict[str, Staff], device: Device, sign_in: Callable[..., Browser]
) -> None:
    page = sign_in(team[Role.OWNER]).get("/salon/devices/").text

    device.refresh_from_db()
    assert device.last_used_at == dt.datetime(2026, 3, 11, 10, tzinfo=dt.UTC)
    assert "11 Mar 2026, 10:00" in page


def test_another_salons_device_counts_for_nothing(
    team: dict[str, Staff],
    enrolled: tuple[Device, str],
    device: Device,
    other_salon: Salon,
    sign_in: Callable[..., Browser],
) -> None:
    stranger = StaffFactory(salon=other_salon, role=Role.OWNER)
    stranger.set_password(PASSWORD)
    stranger.save()
    browser = sign_in(stranger, token=enrolled[1])

    assert browser.get("/switch/").status_code == 404
    assert browser.post(f"/salon/devices/{device.pk}/revoke/").status_code == 404
    assert "Counter tablet" not in browser.get("/salon/devices/").text


def test_only_an_owner_writes(team: dict[str, Staff], device: Device, now: dt.datetime) -> None:
    stylist: Staff = team[Role.STYLIST]

    with pytest.raises(PermissionDenied):
        services.enrol_device(name="Mine", by=stylist, at=now)
    with pytest.raises(PermissionDenied):
        services.revoke_device(device=device, by=stylist, at=now)


def test_the_list_asks_no_more_with_more_devices(
    team: dict[str, Staff],
    sign_in: Callable[..., Browser],
    django_assert_max_num_queries: DjangoAssertNumQueries,
    now: dt.datetime,
) -> None:
    browser = sign_in(team[Role.OWNER])
    for number in range(12):
        services.enrol_device(name=f"Tablet {number}", by=team[Role.OWNER], at=now)

    # session, user, salon, devices, the policy that nothing on the page needs
    with django_assert_max_num_queries(5):
        browser.get("/salon/devices/")


def test_the_database_refuses_a_nameless_or_half_revoked_device(
    device: Device, now: dt.datetime
) -> None:
    for changes in ({"name": ""}, {"revoked_at": now}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Device.objects.update(**changes)


def test_a_token_belongs_to_one_device(
    device: Device, team: dict[str, Staff], now: dt.datetime
) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Device.objects.create(
            salon=device.salon,
            name="Twin",
            token_hash=device.token_hash,
            enrolled_at=now,
            enrolled_by=team[Role.OWNER],
        )
