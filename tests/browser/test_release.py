"""A page that stays open while a newer release is put in place."""

from collections.abc import Callable

from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import next_frame, until

CHOOSE = "document.querySelector('#main input[type=radio]').checked = %s"
# Heard after the answer: a page that leaves while it is being asked may give none.
TELL = "setTimeout(() => window.release.heard('%s')) > 0"


def test_an_open_page_loads_a_newer_release_once_nothing_typed_is_lost(
    at_step: Callable[..., Page],
) -> None:
    page: Page = at_step("safety")
    page.evaluate(CHOOSE % "true")
    page.evaluate("window.isSamePage = true")

    page.evaluate(TELL % "newer")
    expect(page.locator("#toasts")).to_contain_text("There is a new version")
    assert page.evaluate("window.isSamePage")

    page.evaluate(CHOOSE % "false")
    page.evaluate(TELL % "newer")
    until(page, "!window.isSamePage && document.readyState === 'complete'")

    # Two releases answering in turn, as while one replaces the other: no page goes round.
    page.evaluate("window.isSamePage = true")
    page.evaluate(TELL % "newer")
    next_frame(page)
    assert page.evaluate("window.isSamePage")


def test_what_a_page_asks_for_by_script_tells_it(at_step: Callable[..., Page]) -> None:
    page: Page = at_step("safety")

    def answered_by_a_newer_one(route: Route) -> None:
        answer = route.fetch()
        route.fulfill(response=answer, headers={**answer.headers, "x-release": "newer"})

    page.evaluate("window.isSamePage = true")
    page.route("**/here/", answered_by_a_newer_one)
    page.evaluate("window.presence.tell({})")
    until(page, "!window.isSamePage")
