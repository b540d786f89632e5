"""The tablet in Chromium: without network, signed out, on the home screen.

Outside check: what Chromium's own installability check reports (DevTools protocol,
Page.getInstallabilityErrors), and the caches as the browser lists them.
"""

import pytest
from playwright.sync_api import Page, expect

from salon.models import Role, Salon
from tests.browser.conftest import TABLET, unexpected
from tests.factories.salon import SalonFactory, StaffFactory

PASSWORD = "three kettles and a lamp"


@pytest.fixture
def house(transactional_db: None) -> Salon:
    salon = SalonFactory()
    for name, role in (("tomasz", Role.STYLIST), ("brigid", Role.OWNER)):
        member = StaffFactory(
            salon=salon, username=name, display_name=name.title(), role=role, has_column=True
        )
        member.set_password(PASSWORD)
        member.save()
    return salon


def _ready(page: Page) -> None:
    page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    page.wait_for_function("navigator.serviceWorker.controller !== null")


def _kept(page: Page) -> list[str]:
    return page.evaluate(
        """async () => {
            const found = [];
            for (const name of await caches.keys()) {
                for (const request of await (await caches.open(name)).keys()) {
                    found.push(new URL(request.url).pathname);
                }
            }
            return found;
        }"""
    )


def test_it_installs_and_leaves_nothing_of_the_salon_on_the_tablet(house: Salon, seat) -> None:
    page = seat("tomasz", PASSWORD, viewport=TABLET, touch=True, worker=True)
    _ready(page)
    devtools = page.context.new_cdp_session(page)
    manifest = devtools.send("Page.getAppManifest")
    errors = devtools.send("Page.getInstallabilityErrors")["installabilityErrors"]

    assert manifest["url"].endswith("/manifest.webmanifest")
    assert manifest["errors"] == []
    assert [error["errorId"] for error in errors if error["errorId"] != "in-incognito"] == []

    page.goto("/day/")
    page.goto("/clients/")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    page.context.set_offline(True)
    page.goto("/today/")
    expect(page.get_by_role("heading", name="No network")).to_be_visible()
    assert unexpected(page.faults) == []

    page.context.set_offline(False)
    page.get_by_role("button", name="Try again").click()
    expect(page.get_by_role("heading", name="No network")).to_be_hidden()
    assert page.url.endswith("/today/")

    page.locator("details.menu summary").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    for address in ("/day/", "/clients/", "/today/"):
        page.goto(address)
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    page.context.set_offline(True)
    for address in ("/day/", "/clients/"):
        page.goto(address)
        expect(page.get_by_role("heading", name="No network")).to_be_visible()
    kept = _kept(page)
    assert "/offline/" in kept
    assert [
        path for path in kept if path != "/offline/" and not path.startswith("/static/")
    ] == []
