"""What was typed and not saved: over a reload, under two people, and for nobody else's eyes."""

import re
from collections.abc import Callable

from playwright.sync_api import Page, Route, expect

from consult.models import Draft, HairFacts, VisitEvent
from tests.browser.conftest import DESK, PASSWORD, fill_the_rest, until, until_so
from tests.factories.consult import Story

WORDS = "sore behind the left ear"
BACK = re.compile("Restored: what you typed at .* without network")
OFFERED = re.compile("You typed this at .* and did not save it")
STORED = """async () => {
  const kept = [JSON.stringify(localStorage), JSON.stringify(sessionStorage)];
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      kept.push(await (await cache.match(request)).text());
    }
  }
  for (const one of await indexedDB.databases()) kept.push("a database: " + one.name);
  return kept;
}"""

READ = """async () => {
  const names = Object.keys(localStorage).filter((name) => name.startsWith("draft:"));
  const read = names.map((name) => window.vault.get(name.slice("draft:".length)));
  return JSON.stringify(await Promise.all(read));
}"""


def _kept(page: Page) -> str:
    kept = page.evaluate(STORED)
    assert not [one for one in kept if one.startswith("a database")]
    return "".join(kept)


def _locks(page: Page) -> list[str]:
    keys: list[str] = page.evaluate(
        "Object.keys(localStorage).filter((k) => k.startsWith('draft:'))"
    )
    return keys


def test_a_reload_without_network_loses_no_word_and_leaves_none_readable(
    at_step: Callable[..., Page], story: Story
) -> None:
    story.answer()
    page = at_step("hair")
    page.wait_for_load_state()
    page.context.set_offline(True)
    _read_all(page)
    page.get_by_label("Note on the scalp").fill(WORDS)
    until_so(page, lambda: WORDS in page.evaluate(READ))
    kept = _kept(page)

    _reload_into_nothing(page)
    page.context.set_offline(False)
    page.goto(f"/visits/{story.visit.pk}/hair/")

    assert "sore" not in kept
    assert "7.5" not in kept
    assert "scalp" not in kept
    expect(page.locator(".offer").get_by_text(BACK)).to_be_visible()
    expect(page.get_by_label("Note on the scalp")).to_have_value(WORDS)
    expect(page.get_by_label("Lifted level").first).to_have_value("7.5")
    expect(page.get_by_text("Draft saved")).to_be_visible()
    until_so(page, lambda: not _locks(page))  # the server has it now
    page.get_by_role("button", name="Save the reading").click()
    expect(page).to_have_url(re.compile("/choice/$"))
    assert [facts.scalp for facts in HairFacts.objects.all()] == [WORDS]


def _read_all(page: Page) -> None:
    page.get_by_label("Natural level").first.fill("5.5")
    page.get_by_label("Lifted level").first.fill("7.5")
    fill_the_rest(page)


def _reload_into_nothing(page: Page) -> None:
    try:
        page.reload(wait_until="commit")
    except Exception as error:
        assert "ERR_INTERNET_DISCONNECTED" in str(error)  # noqa: PT017


def test_a_draft_is_offered_back_and_is_nobody_elses(
    at_step: Callable[..., Page], story: Story
) -> None:
    story.answer()
    page = at_step("hair")
    page.get_by_label("Note on the scalp").fill(WORDS)
    expect(page.get_by_text("Draft saved")).to_be_visible()
    page.reload()

    offer = page.locator(".offer")
    expect(offer.get_by_text(OFFERED)).to_be_visible()
    expect(page.get_by_label("Note on the scalp")).to_have_value("")
    page.get_by_role("button", name="Restore it").click()
    expect(page.get_by_label("Note on the scalp")).to_have_value(WORDS)
    expect(offer).to_have_count(0)
    expect(page.get_by_text("Draft saved")).to_be_visible()  # else it may come after the drop

    page.reload()
    page.get_by_role("button", name="Discard it").click()
    expect(offer).to_have_count(0)
    until_so(page, lambda: not Draft.objects.exists())
    page.reload()
    expect(page.get_by_label("Note on the scalp")).to_have_value("")
    expect(offer).to_have_count(0)


def test_signing_out_takes_what_was_kept_on_the_tablet(
    at_step: Callable[..., Page], story: Story
) -> None:
    story.answer()
    page = at_step("hair")
    page.wait_for_load_state()
    page.route("**/draft/", lambda route: route.abort())
    page.get_by_label("Note on the scalp").fill(WORDS)
    until_so(page, lambda: _locks(page))
    secret = page.evaluate("document.documentElement.outerHTML.includes('data-secret=')")

    page.locator(".topbar details.menu > summary").last.click()
    page.get_by_role("button", name="Sign out").click()
    page.get_by_label("User name").wait_for()

    assert secret is False  # not left in the page either
    until_so(page, lambda: not _locks(page))


def test_what_another_person_left_locked_is_thrown_away_unread(
    at_step: Callable[..., Page], story: Story
) -> None:
    story.answer()
    page = at_step("hair")
    page.wait_for_load_state()
    page.route("**/draft/", lambda route: route.abort())
    page.get_by_label("Note on the scalp").fill(WORDS)
    until_so(page, lambda: _locks(page))
    page.context.clear_cookies()  # the session is gone, as if it had run out
    page.evaluate("localStorage.setItem('copy', JSON.stringify(localStorage))")
    page.goto("/sign-in/")
    locks = page.evaluate("JSON.parse(localStorage.getItem('copy'))")
    page.get_by_label("User name").fill("brigid")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(re.compile("/histories/"))
    page.evaluate(
        "(kept) => { for (const [k, v] of Object.entries(kept)) localStorage.setItem(k, v); }",
        locks,
    )
    page.goto(f"/visits/{story.visit.pk}/hair/")

    expect(page.get_by_label("Note on the scalp")).to_have_value("")
    until_so(page, lambda: not _locks(page))


def test_an_answer_that_was_lost_does_not_save_twice(
    at_step: Callable[..., Page], story: Story
) -> None:
    story.answer()
    page = at_step("hair")
    page.wait_for_load_state()
    lost: list[int] = []

    def lose(route: Route) -> None:
        if route.request.method != "POST" or lost:
            route.continue_()
            return
        lost.append(route.fetch().status)
        route.abort()

    page.route("**/hair/", lose)
    _read_all(page)
    page.get_by_label("Note on the scalp").fill(WORDS)
    page.get_by_role("button", name="Save the reading").click()

    expect(page).to_have_url(re.compile("/choice/$"))
    assert lost == [204]
    assert HairFacts.objects.count() == 1


def test_two_people_see_each_other_and_overwrite_nothing(
    at_step: Callable[..., Page], story: Story
) -> None:
    story.answer()
    tablet = at_step("hair")
    laptop = at_step("hair", who="brigid", viewport=DESK)

    expect(
        laptop.get_by_text(re.compile("Tomasz\\W* has had this visit open since .*, at “Hair”"))
    ).to_be_visible()
    _read_all(laptop)
    laptop.get_by_label("Note on the scalp").fill("calm")
    laptop.get_by_role("button", name="Save the reading").click()
    expect(laptop).to_have_url(re.compile("/choice/$"))
    _read_all(tablet)
    tablet.get_by_label("Note on the scalp").fill(WORDS)

    expect(tablet.get_by_text("This visit has changed since you opened it.")).to_be_visible()
    expect(tablet.locator("#network")).to_contain_text("Brigid")
    expect(tablet.locator("#network")).to_contain_text("hair read")
    tablet.get_by_role("button", name="Save the reading").click()
    expect(tablet.locator("#stale")).to_contain_text("Brigid")
    until(tablet, "document.activeElement !== document.body")  # focus is kept
    expect(tablet.get_by_label("Note on the scalp")).to_have_value(WORDS)
    assert VisitEvent.objects.filter(kind="hair read").count() == 1

    tablet.get_by_role("button", name="Save the reading").click()
    expect(tablet).to_have_url(re.compile("/choice/$"))
    assert [facts.scalp for facts in HairFacts.objects.order_by("pk")] == ["calm", WORDS]


def _a_place_is_not_lost_in_the_clients_hands(page: Page) -> None:
    cool, bright = page.locator("[data-to=cool]"), page.locator("[data-to=bright]")
    mine = f"draft:{page.url.split('/')[-4]}/client_choice/"
    cool.click()
    expect(page.get_by_text("Draft saved")).to_be_visible()
    page.reload()
    expect(cool).to_have_attribute("aria-pressed", "true")
    page.wait_for_load_state()
    page.context.set_offline(True)
    bright.click()
    expect(page.get_by_text("Waiting for the network.", exact=True)).to_be_visible()
    until_so(page, lambda: mine in _locks(page))
    address = page.url
    _reload_into_nothing(page)
    page.context.set_offline(False)
    page.goto(address)
    expect(bright).to_have_attribute("aria-pressed", "true")
    until_so(page, lambda: mine not in _locks(page))  # the server has it now
    page.get_by_role("button", name="This is how I want it").click()


def test_a_refused_form_that_a_script_sent_leaves_every_control_at_work(
    at_step: Callable[..., Page], story: Story
) -> None:
    """The page is drawn anew without a reload: what scripts do to it has to be done again."""
    story.answer()
    page = at_step("hair")
    page.wait_for_load_state()
    page.get_by_label("Lifted level").first.fill("80")
    page.get_by_role("button", name="Save the reading").click()
    wrong = page.locator("[aria-invalid=true]").first
    expect(wrong).to_be_focused()
    before = page.locator("[data-zone=roots] [data-place] svg").first.inner_html()
    page.get_by_label("Lifted level").first.fill("5")
    assert page.locator("[data-zone=roots] [data-place] svg").first.inner_html() != before

    story.read()
    page.goto(f"/visits/{story.visit.pk}/choice/")
    page.get_by_role("button", name="Hand over the tablet").click()
    page.wait_for_url(re.compile("/client/choice/"))
    page.wait_for_load_state()
    _a_place_is_not_lost_in_the_clients_hands(page)
    page.wait_for_url(re.compile("/client/sign/"))
    page.wait_for_load_state()
    page.get_by_role("button", name="Turn the page round").click()
    expect(page.locator("html")).to_have_class(re.compile("is-turned"))
    page.get_by_role("button", name="Sign", exact=True).click()
    expect(page.get_by_text("The client has to agree first.")).to_be_visible()
    expect(page.locator("input[data-turned]")).to_have_value("1")
    page.get_by_role("button", name="Turn the page round").click()
    expect(page.locator("input[data-turned]")).to_have_value("")
    expect(page.locator("html")).not_to_have_class(re.compile("is-turned"))
