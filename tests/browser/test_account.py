"""One walk of the account: set up a second factor, sign in with it, lose the phone."""

import base64
import re
import time

from playwright.sync_api import Page, expect

from salon.models import Role, SecondFactor
from salon.second_factor import codes
from tests.browser.conftest import DESK, PASSWORD
from tests.factories.salon import StaffFactory
from tests.typed import Seat

USER = "brigid"


def _sign_in(page: Page) -> None:
    page.goto("/sign-in/?next=/account/")
    page.get_by_label("User name").fill(USER)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def test_a_second_factor_from_the_first_scan_to_a_lost_phone(
    transactional_db: None, seat: Seat
) -> None:
    owner = StaffFactory(username=USER, role=Role.OWNER)
    owner.set_password(PASSWORD)
    owner.save()
    page = seat(USER, PASSWORD, viewport=DESK)
    page.wait_for_url(re.compile("/(histories|first-steps|today)/"))
    page.goto("/account/")
    page.get_by_role("link", name="Set up the second factor").click()
    expect(page.locator(".qr svg")).to_be_visible()
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_label("Code that the app shows now").fill("1")
    page.get_by_role("button", name="Set up the second factor").click()
    expect(page.get_by_text("This is not the code")).to_be_visible()

    page.get_by_text("The camera cannot read it").click()
    typed = page.locator(".key").inner_text().replace(" ", "")
    secret = base64.b32decode(typed)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_label("Code that the app shows now").fill(
        codes.code_at(secret, int(time.time() // codes.STEP))
    )
    page.get_by_role("button", name="Set up the second factor").click()
    expect(page.locator(".key-list li")).to_have_count(10)
    recovery = page.locator(".key-list code").first.inner_text()
    page.get_by_role("link", name="I have them").click()
    page.context.clear_cookies()

    _sign_in(page)
    page.get_by_label("Code from your app").fill("000000 0")
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_text("wrong or already used")).to_be_visible()
    page.get_by_label("Code from your app").fill(recovery)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(re.compile("/account/$"))
    page.get_by_role("link", name="Manage the second factor").click()
    expect(page.get_by_text("You have 9 recovery codes left.")).to_be_visible()
    assert SecondFactor.objects.get().staff == owner
