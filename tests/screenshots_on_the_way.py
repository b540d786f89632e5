"""The pages that a visit shows only on its way: the client's own, the editor, the result.

The demo's two open visits are carried on by hand, as a stylist would, and each page is handed
to `shoot` where it stands.
"""

from collections.abc import Callable

from playwright.sync_api import Page, expect

Shoot = Callable[[Page, str], None]


def photograph_on_the_way(page: Page, shoot: Shoot, *, at_choice: int, at_bench: int) -> None:
    """Carry two visits on, one from the choice to the bench, one from the bench to the card."""
    _in_the_clients_hands(page, shoot, at_choice)
    _formula(page, shoot, at_choice)
    _result(page, shoot, at_bench)


def _in_the_clients_hands(page: Page, shoot: Shoot, visit: int) -> None:
    page.goto(f"/visits/{visit}/choice/")
    page.get_by_role("button", name="Hand over the tablet").click()
    page.wait_for_url("**/client/choice/")
    shoot(page, "consult-client_choice")
    page.get_by_role("button", name="This is how I want it").click()
    page.wait_for_url("**/client/sign/")
    shoot(page, "consult-client_sign")
    page.get_by_label("typed name").click()
    page.get_by_label("I have read this").check()
    page.get_by_role("button", name="Sign", exact=True).click()
    page.wait_for_url("**/client/done/")
    shoot(page, "consult-client_done")


def take_back(page: Page) -> None:
    """Take the tablet back from the client, by the password of the demo."""
    from consult.demo.cast import PASSWORD

    if "/client/done/" not in page.url:
        page.get_by_role("link", name="Back to the stylist").click()
        page.wait_for_url("**/client/done/")
    page.get_by_text("Stylist: hold here").press("Enter")
    for other in page.locator("main").get_by_text("Use the password instead").all():
        other.click()  # of somebody who has a PIN
    page.locator("main").get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Take the tablet back").click()
    page.wait_for_url(lambda address: "/client/" not in address)


def _formula(page: Page, shoot: Shoot, visit: int) -> None:
    take_back(page)
    page.wait_for_url("**/formula/")
    shoot(page, "consult-formula-suggested")
    page.get_by_role("link", name="Change it").first.click()
    page.wait_for_url("**/formula/?*")
    shoot(page, "consult-formula-editor")
    page.locator("a[href*='/formula/compare/']").first.click()
    page.wait_for_url("**/compare/?*")
    shoot(page, "consult-compare")
    page.goto(f"/visits/{visit}/formula/")
    page.get_by_role("button", name="Use this one").first.click()
    page.wait_for_url("**/bench/")
    shoot(page, "consult-bench-weighing")


def _result(page: Page, shoot: Shoot, visit: int) -> None:
    page.goto(f"/visits/{visit}/bench/")
    _press_each(page, "On the hair: start the clock")
    shoot(page, "consult-bench-timers")
    _press_each(page, "Rinsed")
    page.goto(f"/visits/{visit}/result/")
    shoot(page, "consult-result")


def _press_each(page: Page, words: str) -> None:
    buttons = page.get_by_role("button", name=words)
    for left in reversed(range(buttons.count())):
        buttons.first.click()
        expect(buttons).to_have_count(left)
