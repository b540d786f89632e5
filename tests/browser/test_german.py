"""German from the menu to the scale, in a browser whose own language is English."""

import datetime as dt
import re

import time_machine
from playwright.sync_api import Page, expect

from consult.models import BowlMixed
from salon.models import Role
from tests.browser.conftest import TABLET, unexpected
from tests.factories.consult import Story, opened
from tests.factories.salon import SalonFactory, StaffFactory
from tests.typed import Seat, present

PASSWORD = "three kettles and a lamp"


def _story() -> Story:
    salon = SalonFactory(language="de", time_zone="Europe/Berlin")
    stylist = StaffFactory(salon=salon, username="leni", role=Role.STYLIST, has_column=True)
    stylist.set_password(PASSWORD)
    stylist.save()
    at = dt.datetime(2026, 11, 23, 9, 0, tzinfo=dt.UTC)
    story = opened(salon, stylist=stylist, at=at, name="Jörg Ebert")
    return story.answer().read()


def _choose_german(tablet: Page) -> None:
    tablet.locator(".menu summary").click()
    tablet.get_by_role("button", name="Deutsch").click()
    expect(tablet.locator("html")).to_have_attribute("lang", "de")
    expect(tablet.get_by_role("link", name="Terminbuch")).to_be_visible()


def _take_a_place(tablet: Page, visit_id: int) -> None:
    tablet.goto(f"/visits/{visit_id}/choice/")
    sentence = tablet.locator(".portrait__words")
    before = sentence.inner_text()
    tablet.locator("[data-to=cool]").click()
    expect(sentence).not_to_have_text(before)
    expect(tablet.locator("[data-mix=deeper]")).to_have_text(re.compile(r"\d,\d"))
    tablet.locator("[data-to=between]").click()
    tablet.get_by_role("button", name="Diesen Punkt nehmen").click()
    expect(tablet).to_have_url(re.compile("/sign/$"))


def test_german_is_chosen_in_the_menu_and_a_comma_is_weighed(
    transactional_db: None, clock: time_machine.Traveller, seat: Seat
) -> None:
    story = _story()
    tablet = seat("leni", PASSWORD, viewport=TABLET, touch=True)
    _choose_german(tablet)
    _take_a_place(tablet, story.visit.pk)
    story.visit.refresh_from_db()
    story.at = dt.datetime(2026, 11, 23, 10, 1, tzinfo=dt.UTC)
    story.sign()
    story.decide()

    tablet.goto(f"/visits/{story.visit.pk}/bench/")
    poured = tablet.locator(".weigh input[name^=poured-]").first
    planned = poured.input_value()
    assert re.fullmatch(r"\d+,\d|\d+", planned)
    with tablet.expect_response(re.compile("/rescale/")):
        poured.locator("..").get_by_role("button", name="Mehr").click()
    more = float(planned.replace(",", ".")) + 0.1
    expect(poured).to_have_value(f"{more:.1f}".replace(".", ",").removesuffix(",0"))
    typed = f"{more + 2.4:.1f}".replace(".", ",")
    with tablet.expect_response(re.compile("/rescale/")):
        poured.click()
        poured.press("ControlOrMeta+a")
        tablet.keyboard.type(typed)  # as a hand does: a number field would drop the comma
        poured.press("Tab")
    expect(tablet.get_by_text("Zu viel eingefüllt")).to_be_visible()
    tablet.get_by_role("button", name="Mischung fertig").first.click()
    expect(tablet.get_by_role("button", name="Auf dem Haar: Uhr starten")).to_be_visible()

    poured_grams = present(BowlMixed.objects.get().lines.first()).poured_grams
    assert f"{poured_grams}" == typed.replace(",", ".")
    assert unexpected(tablet) == []
