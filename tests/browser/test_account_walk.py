"""Every function of an account, walked in Chromium as its owner walks it."""

import re
from typing import Any

import pytest
from django.core import mail
from playwright.sync_api import CDPSession, Page, expect

from salon.models import Passkey, Role, Salon, Staff, StaffSession
from tests.browser.conftest import DESK, PASSWORD, TABLET, unexpected
from tests.factories.clients import AppointmentFactory, ClientFactory
from tests.factories.salon import SalonFactory, StaffFactory
from tests.typed import Seat

NEW = "seven spoons under the moon"
HOME = re.compile("/(histories|first-steps|today|day|start-day)/")


@pytest.fixture
def salon(transactional_db: None) -> Salon:
    return SalonFactory()


def _person(salon: Salon, name: str, role: str = Role.OWNER, **more: Any) -> Staff:
    staff = StaffFactory(
        salon=salon, role=role, username=name, display_name=name.title(), **more
    )
    staff.set_password(PASSWORD)
    staff.save()
    return staff


def _sign_in(page: Page, name: str, password: str, then: str = "/account/") -> None:
    page.goto(f"/sign-in/?next={then}")
    page.get_by_label("User name").fill(name)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in", exact=True).click()


def _seated(seat: Seat, name: str, **more: Any) -> Page:
    page = seat(name, PASSWORD, viewport=more.pop("viewport", DESK), **more)
    page.wait_for_url(HOME)
    return page


def _sign_out(page: Page) -> None:
    page.context.clear_cookies()
    page.goto("/sign-in/")


def _with_authenticator(page: Page) -> CDPSession:
    """Give the browser a device of its own that knows its user (Chromium's virtual one)."""
    session = page.context.new_cdp_session(page)
    session.send("WebAuthn.enable")
    session.send(
        "WebAuthn.addVirtualAuthenticator",
        {
            "options": {
                "protocol": "ctap2",
                "transport": "internal",
                "hasResidentKey": True,
                "hasUserVerification": True,
                "isUserVerified": True,
                "automaticPresenceSimulation": True,
            }
        },
    )
    return session


def _make_passkey(page: Page, name: str) -> None:
    page.get_by_label("What do you call this passkey?").fill(name)
    page.get_by_role("button", name="Make the passkey").click()


def test_a_passkey_is_made_used_and_removed(salon: Salon, seat: Seat) -> None:
    _person(salon, "brigid")
    page = _seated(seat, "brigid")
    _with_authenticator(page)
    page.goto("/account/")
    page.get_by_role("link", name="Add a passkey").click()
    page.get_by_label("What do you call this passkey?").fill("My laptop")
    page.get_by_role("button", name="Make the passkey").click()
    expect(page.locator("#id_password_error")).to_be_visible()  # asked before the device is
    page.get_by_label("Password").fill(PASSWORD)
    _make_passkey(page, "My laptop")
    expect(page.locator(".key-list li")).to_have_count(10)
    page.get_by_role("link", name="I have them").click()

    # By passkey alone.
    _sign_out(page)
    page.goto("/sign-in/?next=/account/")
    page.get_by_role("button", name="Use a passkey instead").click()
    page.wait_for_url(re.compile("/account/$"))
    expect(page.get_by_text("this one")).to_be_visible()

    # As the second step after a password.
    _sign_out(page)
    _sign_in(page, "brigid", PASSWORD)
    expect(page.get_by_text("Now use your passkey")).to_be_visible()
    page.get_by_role("button", name="Use a passkey", exact=True).click()
    page.wait_for_url(re.compile("/account/$"))

    # A locked screen opens by it, and the page beneath stays as it is.
    page.get_by_label("Current password").fill("half a word")
    page.locator(".menu summary", has_text="Brigid").click()
    page.get_by_role("button", name="Lock the screen").click()
    page.get_by_role("button", name="Use a passkey", exact=True).click()
    page.wait_for_url(re.compile("/account/$"))

    # Renamed; another added by proving it; the first removed.
    page.get_by_role("link", name="Manage the second factor").click()
    page.locator("summary", has_text="Rename").click()
    page.get_by_label("Name", exact=True).fill("The old laptop")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("The old laptop").first).to_be_visible()
    page.locator("summary", has_text="Add a passkey").click()
    proof = page.locator("form[action$='/new/begin/']")
    proof.get_by_label("Password").fill(PASSWORD)
    proof.get_by_role("button", name="Use a passkey instead of a code").click()
    page.wait_for_url(re.compile("/account/passkeys/new/$"))
    _another_device(page)
    _make_passkey(page, "My phone")
    expect(page.get_by_text("My phone").first).to_be_visible()
    first = page.locator("li", has_text="The old laptop")
    first.locator("summary", has_text="Remove").click()
    first.get_by_label("Password").fill(PASSWORD)
    first.get_by_role("button", name="Remove the passkey").click()
    expect(page.get_by_text("The passkey is removed.").first).to_be_visible()

    assert [one.name for one in Passkey.objects.all()] == ["My phone"]
    assert unexpected(page) == []


def _another_device(page: Page) -> None:
    """Give the browser a second device: the first knows this account already."""
    session = page.context.new_cdp_session(page)
    session.send("WebAuthn.enable")
    session.send(
        "WebAuthn.addVirtualAuthenticator",
        {
            "options": {
                "protocol": "ctap2",
                "transport": "usb",
                "hasResidentKey": True,
                "hasUserVerification": True,
                "isUserVerified": True,
                "automaticPresenceSimulation": True,
            }
        },
    )


def test_a_device_without_the_passkey_gets_a_message(salon: Salon, seat: Seat) -> None:
    _person(salon, "brigid")
    page = _seated(seat, "brigid")
    _with_authenticator(page)
    page.context.clear_cookies()
    page.goto("/sign-in/")
    page.get_by_role("button", name="Use a passkey instead").click()
    expect(page.get_by_text("No passkey was used. Try again.")).to_be_visible()


def test_a_changed_password_and_a_session_ended_elsewhere(salon: Salon, seat: Seat) -> None:
    staff = _person(salon, "brigid")
    here, tablet = _seated(seat, "brigid"), _seated(seat, "brigid", viewport=TABLET)
    here.goto("/account/")
    here.get_by_role("button", name="Sign out there").click()
    expect(here.get_by_text("Signed out there.").first).to_be_visible()
    tablet.goto("/account/")
    expect(tablet).to_have_url(re.compile("/sign-in/"))
    assert StaffSession.objects.filter(staff_id=staff.pk).count() == 1

    _sign_in(tablet, "brigid", PASSWORD)
    tablet.wait_for_url(re.compile("/account/$"))
    here.get_by_label("Current password").fill(PASSWORD)
    here.get_by_label("New password", exact=True).fill("brigid brigid brigid")
    here.get_by_label("New password confirmation").fill("brigid brigid brigid")
    here.get_by_role("button", name="Change the password").click()
    expect(here.get_by_text("Leave out your name")).to_be_visible()
    here.get_by_label("Current password").fill(PASSWORD)
    here.get_by_label("New password", exact=True).fill(NEW)
    here.get_by_label("New password confirmation").fill(NEW)
    here.get_by_role("button", name="Change the password").click()
    expect(here.get_by_text("Your password is changed.").first).to_be_visible()
    tablet.goto("/account/")
    expect(tablet).to_have_url(re.compile("/sign-in/"))
    _sign_in(tablet, "brigid", NEW)
    tablet.wait_for_url(re.compile("/account/$"))


def test_a_forgotten_password_comes_back_by_mail(salon: Salon, seat: Seat) -> None:
    _person(salon, "tomasz", Role.STYLIST, email="tomasz@example.com")
    page = seat("tomasz", "not it at all", viewport=DESK)
    page.get_by_role("link", name="Forgot your password?").click()
    page.get_by_label("Sign-in name").fill("tomasz")
    page.get_by_role("button", name="Send the link").click()
    expect(page.get_by_text("A link is on its way").first).to_be_visible()
    link = re.search(r"(/sign-in/new/\S+)", str(_sent().body))
    assert link
    page.goto(link.group(1))
    page.get_by_label("New password", exact=True).fill(NEW)
    page.get_by_label("New password confirmation").fill(NEW)
    page.get_by_role("button", name="Change the password").click()
    expect(page.get_by_text("Your password is changed. Sign in with it.").first).to_be_visible()
    _sign_in(page, "tomasz", NEW)
    page.wait_for_url(re.compile("/account/$"))


def _sent() -> Any:
    return mail.outbox[-1]


def test_an_owner_gives_a_one_time_password(salon: Salon, seat: Seat) -> None:
    _person(salon, "brigid")
    tomasz = _person(salon, "tomasz", Role.STYLIST)
    owner = _seated(seat, "brigid")
    owner.goto(f"/salon/team/{tomasz.pk}/")
    owner.locator("summary", has_text="Make a one-time password").click()
    owner.get_by_role("button", name="Make a one-time password").click()
    once = owner.locator("code").first.inner_text()

    page = seat("tomasz", once, viewport=TABLET)
    expect(page.get_by_text("Choose a password of your own")).to_be_visible()
    page.goto("/today/")
    expect(page).to_have_url(re.compile("/account/"))
    page.get_by_label("Current password").fill(once)
    page.get_by_label("New password", exact=True).fill(NEW)
    page.get_by_label("New password confirmation").fill(NEW)
    page.get_by_role("button", name="Change the password").click()
    page.wait_for_url(re.compile("/today/"))


def test_who_leaves_hands_over_what_is_booked(salon: Salon, seat: Seat) -> None:
    _person(salon, "brigid")
    tomasz = _person(salon, "tomasz", Role.STYLIST, has_column=True)
    other = _person(salon, "oluchi", Role.STYLIST, has_column=True)
    booked = AppointmentFactory(
        stylist=tomasz, client=ClientFactory(salon=salon), service__salon=salon
    )
    owner, his = _seated(seat, "brigid"), _seated(seat, "tomasz", viewport=TABLET)
    owner.goto(f"/salon/team/{tomasz.pk}/")
    owner.get_by_label("can sign in").uncheck()
    owner.get_by_role("button", name="Save").click()
    owner.wait_for_url(re.compile(f"/team/{tomasz.pk}/booked/"))
    expect(owner.get_by_text("Hand over what is still booked").first).to_be_visible()
    expect(owner.get_by_text(booked.client.name).first).to_be_visible()
    his.goto("/today/")
    expect(his).to_have_url(re.compile("/sign-in/"))
    _sign_in(his, "tomasz", PASSWORD)
    expect(his.get_by_text("Please enter a correct")).to_be_visible()

    owner.get_by_role("button", name=re.compile("Oluchi")).first.click()
    expect(owner.get_by_text("Moved.").first).to_be_visible()
    booked.refresh_from_db()
    assert booked.stylist == other
