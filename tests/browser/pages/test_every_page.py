"""Every page in every role, loaded once and asked everything.

What is asked, and which standard asks it, stands in the modules beside this one. What two
roles see alike is looked at once. The dark scheme is asked what depends on it, contrast, of
every page with a text that looks like none before it.
"""

import re
from collections.abc import Iterator

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.browser.pages.covered import covered
from tests.browser.pages.forced import faint, indistinct
from tests.browser.pages.shape import shapes, small_targets
from tests.browser.pages.still import moving
from tests.browser.pages.walk import ROLES, Visitor, Walk
from tests.structure import faults as structure_faults
from tests.structure import parse_errors
from tests.typed import present

GRAVE = {"serious", "critical"}
CONTRAST = {"runOnly": ["color-contrast", "link-in-text-block"], "resultTypes": ["violations"]}
WHOLE = {"resultTypes": ["violations"]}
AXE_IS_THERE = Axe(axe_script="0")  # half a megabyte, put into each page once
MAIN = re.compile(r"<main.*</main>", re.DOTALL)
KEYS = re.compile(r'value="[^"]{36,}"')
ASKED_IN_FORCED_COLOURS = re.compile(
    r"/components/|/day/$|/today/|/visits/\d+/(\w+/)*\?zones|/(bench|sign|choice|hair|safety|stock|lines)/$"
)
# What the colours of a text depend on: its element and the one around it, without their words.
LOOKS = """() => {
  const matters = /^(class|style|type|open|disabled|aria-current|data-(state|standing))$/;
  const look = (one) => one.tagName + [...one.attributes]
    .filter((said) => matters.test(said.name))
    .map((said) => `[${said.name}=${said.value}]`).sort().join("");
  const isWritten = (child) => child.nodeType === Node.TEXT_NODE && child.data.trim();
  return [...document.querySelectorAll("body *")]
    .filter((one) => [...one.childNodes].some(isWritten))
    .map((one) => `${look(one.parentElement)} ${look(one)}`);
}"""


def _fresh_pages(walk: Walk) -> Iterator[tuple[Visitor, str]]:
    """Yield each page that looks unlike any page before it, navigation apart."""
    seen: set[str] = set()
    for role in ROLES:
        visitor = walk.visitor(role)
        for place, address in enumerate(walk.pages(role, visitor)):
            main = KEYS.sub("", present(MAIN.search(visitor.get(address).text)).group(0))
            if place == 0 or main not in seen:
                seen.add(main)
                yield visitor, address
    yield from walk.client_views()


def _axe(page: Page, options: dict[str, list[str]], *, axe: Axe) -> list[str]:
    violations = axe.run(page, options=options).response["violations"]
    return [
        f"{v['id']}: {v['nodes'][0]['html'][:140]}" for v in violations if v["impact"] in GRAVE
    ]


def _ask(
    page: Page, address: str, *, is_barer: bool, looks: set[str]
) -> Iterator[tuple[str, list[str]]]:
    """Yield a heading and what was found under it. The order saves resizing the window.

    Of a page that another record or another role fills more only the structure is asked: the
    fuller one has the same parts, and more of them to run out, hide or move.
    """
    yield "structure", structure_faults(page.content())
    yield "axe", _axe(page, WHOLE, axe=Axe())
    if is_barer:
        return
    if fresh := set(page.evaluate(LOOKS)) - looks:
        looks |= fresh
        page.emulate_media(color_scheme="dark")
        yield "axe, dark", _axe(page, CONTRAST, axe=AXE_IS_THERE)
        page.emulate_media(color_scheme="light")
    yield "moves", moving(page)
    yield "targets", small_targets(page)
    if ASKED_IN_FORCED_COLOURS.search(address):
        yield "forced colours", indistinct(page)
    if address == "/components/":
        yield "more contrast", faint(page)
    if address.startswith("/visits/"):
        yield "covered", list(covered(page))
    yield "shape", list(shapes(page))


def test_every_page_is_fit_for_everybody(walk: Walk) -> None:
    found: list[str] = []
    seats: dict[Visitor, Page] = {}
    looks: set[str] = set()
    walk.barer.clear()  # of a run before: once more, and as strictly
    for visitor, address in _fresh_pages(walk):
        if visitor not in seats:
            seats[visitor] = walk.seat(visitor, has_touch=True, reduced_motion="reduce")
        page = seats[visitor]
        answer = page.goto(address, wait_until="domcontentloaded")
        assert page.url.endswith(address), f"{address} led to {page.url}"
        assert answer is not None
        found += [f"HTML: {address} {fault}" for fault in parse_errors(answer.text())]
        for heading, faults in _ask(page, address, is_barer=address in walk.barer, looks=looks):
            found += [f"{heading}: {address} {fault}" for fault in faults]
        walk.barer.add(address)

    assert not found, "\n".join(sorted(found))
