"""Every page in every role against axe-core's rules (WCAG 2.2 A and AA), light and dark.

What two roles see alike is looked at once. The dark scheme is asked what depends on it:
contrast. Outside check: axe-core itself.
"""

import re
from collections.abc import Iterator

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from salon.models import Role
from tests.browser.pages.walk import ROLES, Walk

GRAVE = {"serious", "critical"}
CONTRAST = {"runOnly": ["color-contrast", "link-in-text-block"], "resultTypes": ["violations"]}
WHOLE = {"resultTypes": ["violations"]}
MAIN = re.compile(r"<main.*</main>", re.DOTALL)
KEYS = re.compile(r'value="[^"]{36,}"')


def _fresh_pages(walk: Walk) -> Iterator[tuple[Role, str]]:
    """Yield each page that looks unlike any page before it, navigation apart."""
    seen: set[str] = set()
    for role in ROLES:
        session = walk.session(role)
        for place, address in enumerate(walk.pages(role)):
            main = KEYS.sub("", MAIN.search(session.get(address).text).group(0))
            if place == 0 or main not in seen:
                seen.add(main)
                yield role, address


def _found(page: Page, options: dict) -> list[str]:
    violations = Axe().run(page, options=options).response["violations"]
    return [
        f"{page.url} {v['id']}: {v['nodes'][0]['html'][:140]}"
        for v in violations
        if v["impact"] in GRAVE
    ]


def test_axe_finds_nothing_serious_on_any_page_in_any_role(walk: Walk) -> None:
    found, seats = [], {}
    for role, address in _fresh_pages(walk):
        page = seats.setdefault(role, None) or walk.seat(role)
        seats[role] = page
        page.goto(address, wait_until="domcontentloaded")
        found += _found(page, WHOLE)
        page.emulate_media(color_scheme="dark")
        found += [f"dark {one}" for one in _found(page, CONTRAST)]
        page.emulate_media(color_scheme="light")

    assert found == []
