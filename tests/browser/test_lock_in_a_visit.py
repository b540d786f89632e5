"""The lock in the middle of a visit: what was typed goes on, and a client sees no record."""

import datetime as dt
import re

import pytest
import time_machine
from django.conf import settings
from django.utils import timezone
from playwright.sync_api import Page, expect

from consult.models import HairFacts
from salon.models import Staff
from salon.tablet import services
from tests.browser.conftest import PASSWORD, TABLET, fill_the_rest, unexpected
from tests.factories.consult import Story
from tests.typed import Seat

PIN = "418527"
WORDS = "sore behind the left ear"


@pytest.fixture
def tablet(story: Story, locks: None, clock: time_machine.Traveller, seat: Seat) -> Page:
    """An enrolled tablet whose stylist has read the hair."""
    people = {person.username: person for person in Staff.objects.all()}
    services.set_pin(by=people["tomasz"], pin=PIN, at=timezone.now())
    _device, token = services.enrol_device(
        name="Counter tablet", by=people["brigid"], at=timezone.now()
    )
    story.answer()
    cookie = {settings.DEVICE_COOKIE_NAME: token}
    return seat("tomasz", PASSWORD, viewport=TABLET, touch=True, cookies=cookie)


def _tap(page: Page, pin: str) -> None:
    page.wait_for_load_state()
    for digit in pin:
        page.locator(f"[data-digit='{digit}']").tap()


def test_a_form_that_meets_the_lock_is_sent_once_after_it(
    tablet: Page, story: Story, clock: time_machine.Traveller
) -> None:
    """The server has heard nothing for too long: it locks, although the page does not."""
    tablet.goto(f"/visits/{story.visit.pk}/hair/")
    tablet.get_by_label("Natural level").first.fill("5.5")
    tablet.get_by_label("Lifted level").first.fill("7.5")
    fill_the_rest(tablet)
    tablet.get_by_label("Note on the scalp").fill(WORDS)
    clock.shift(dt.timedelta(minutes=6))

    tablet.get_by_role("button", name="Save the reading").tap()

    expect(tablet.get_by_role("heading", name="Locked")).to_be_visible()
    expect(tablet.get_by_label("Note on the scalp")).to_be_hidden()
    assert not HairFacts.objects.exists()
    _tap(tablet, PIN)
    expect(tablet).to_have_url(re.compile("/choice/$"))
    assert [facts.scalp for facts in HairFacts.objects.all()] == [WORDS]
    assert unexpected(tablet) == []


def test_in_the_clients_hands_the_lock_leads_to_no_record(
    tablet: Page, story: Story, clock: time_machine.Traveller
) -> None:
    story.read()
    tablet.goto(f"/visits/{story.visit.pk}/choice/")
    tablet.get_by_role("button", name="Hand over the tablet").tap()
    expect(tablet).to_have_url(re.compile("/client/choice/$"))
    clock.shift(dt.timedelta(minutes=6))
    tablet.reload()

    expect(tablet.get_by_text("Please hand the tablet to your stylist.")).to_be_visible()
    expect(tablet.get_by_text("Tomasz")).to_have_count(0)
    expect(tablet.get_by_role("link", name="Someone else")).to_have_count(0)
    tablet.goto(f"/clients/{story.visit.client_id}/")
    expect(tablet).to_have_url(re.compile("/locked/"))
    _tap(tablet, PIN)
    expect(tablet).to_have_url(re.compile("/client/choice/$"))

    tablet.goto(f"/visits/{story.visit.pk}/client/done/")
    _tap(tablet, "941873")
    expect(tablet.get_by_text("This PIN was not accepted")).to_be_visible()
    _tap(tablet, PIN)

    expect(tablet).to_have_url(re.compile(rf"/visits/{story.visit.pk}/choice/$"))
    assert unexpected(tablet) == []
