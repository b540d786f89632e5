"""The session ends, or changes hands, under an open page: nothing is lost or misattributed."""

import re
from collections.abc import Callable

from playwright.sync_api import Page, expect

from consult.models import Draft, HairFacts
from salon.models import StaffSession
from tests.browser.conftest import PASSWORD, fill_the_rest, until
from tests.factories.consult import Story

WORDS = "sore behind the left ear"


def _sign_in(page: Page, username: str) -> None:
    page.get_by_label("User name").fill(username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(re.compile("/(histories|today)/"))
    page.wait_for_load_state()


def test_what_is_typed_signed_out_is_saved_under_ones_own_name_and_no_other(
    at_step: Callable[..., Page], story: Story
) -> None:
    """The session ends, a colleague signs in beside the page, then whoever typed comes back."""
    story.answer()
    page = at_step("hair")
    page.clock.install()
    page.reload()
    page.wait_for_load_state()
    note, strip = page.get_by_label("Note on the scalp"), page.locator("#network")
    expect(page.locator("#photos-before")).to_contain_text(
        "I agree that the salon takes photos"
    )
    until(
        page, "() => !document.querySelector('.htmx-request, .htmx-swapping, .htmx-settling')"
    )
    StaffSession.objects.all().delete()
    with page.expect_response("**/photos/before/**") as unasked:  # a fragment asks by itself
        page.evaluate("document.body.dispatchEvent(new Event('photo-consent'))")
    assert unasked.value.status == 401
    note.fill(WORDS)
    page.get_by_label("Natural level").first.fill("5.5")
    page.get_by_label("Lifted level").first.fill("7.5")
    fill_the_rest(page)
    expect(strip.get_by_text("You are signed out.")).to_be_visible()
    page.clock.fast_forward(70_000)  # long enough for the lock to ask whether it may stay open
    with page.expect_response("**/awake/"):
        page.mouse.move(50, 50)
    expect(note).to_have_value(WORDS)

    with page.context.expect_page() as opened:
        strip.get_by_role("link", name="Sign in").click()
    beside = opened.value
    _sign_in(beside, "brigid")
    page.evaluate("dispatchEvent(new Event('online'))")  # do not wait for the next try
    expect(strip.get_by_text("Someone else is signed in on this tablet now.")).to_be_visible()
    with page.expect_response("**/hair/") as refused:
        page.get_by_role("button", name="Save the reading").click()
    assert refused.value.status == 409
    expect(note).to_have_value(WORDS)
    assert not HairFacts.objects.exists()
    assert not Draft.objects.exists()

    beside.locator(".topbar details.menu > summary").last.click()
    beside.get_by_role("button", name="Sign out").click()
    _sign_in(beside, "tomasz")
    expect(page).to_have_url(re.compile("/choice/$"))  # it tries by itself
    (facts,) = HairFacts.objects.all()
    assert (facts.scalp, facts.recorded_by) == (WORDS, story.by)
