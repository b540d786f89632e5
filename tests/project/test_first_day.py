"""A salon of the first day: every page that names no record opens, and an empty one says so.

Each empty list says in words what is missing and what to do next, or that nothing is to be
done. What each page says is in its row of `role_table.py`.
"""

import html
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from salon import services as house
from salon.models import Role, Staff
from tests.factories.salon import StaffFactory
from tests.project.role_table import A_PART, FULL, LEADS_ON, ON_THE_FIRST_DAY, TABLE
from tests.project.test_roles import ROUTES
from tests.typed import SignIn, present

MAIN = re.compile(r"<main.*</main>", re.DOTALL)


@pytest.fixture
def founder(db: None) -> Staff:
    """The owner of a salon that has nothing but its owner."""
    _salon, owner = house.found_salon(
        at=timezone.now(), owner_username="brigid", owner_name="Brigid",
        password="three kettles and a lamp", name="Corner House", time_zone="Europe/Dublin",
    )  # fmt: skip
    return owner


def _words(page: str) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)))


@pytest.mark.parametrize("role", Role.values)
def test_every_page_opens_and_says_what_is_empty(
    client_for: SignIn, founder: Staff, role: str
) -> None:
    someone = founder if role == Role.OWNER else StaffFactory(salon=founder.salon, role=role)
    browser, opened = client_for(someone), set()
    for name, words in ON_THE_FIRST_DAY.items():
        if role not in TABLE[name] or ROUTES[name] or words == (A_PART,):
            continue
        response = browser.get(reverse(name))
        if response.status_code == 405:
            continue  # only posted to
        opened.add(name)
        assert words, f"{name}: what does it say when it is empty?"
        if words == (LEADS_ON,):
            assert response.status_code == 302, name
            continue
        assert response.status_code == 200, name
        page = _words(present(MAIN.search(response.text)).group(0))
        for text in () if words == (FULL,) else words:
            assert text in page, f"{name} does not say {text!r}: {page[:400]}"
    if role == Role.OWNER:
        assert opened == {
            name for name, words in ON_THE_FIRST_DAY.items() if words not in {(), (A_PART,)}
        }


def test_what_to_do_next_can_be_done(client_for: SignIn, founder: Staff) -> None:
    """Each link that an empty page offers its owner opens."""
    browser = client_for(founder)
    for name, words in ON_THE_FIRST_DAY.items():
        if words in {(), (FULL,), (LEADS_ON,), (A_PART,)}:
            continue
        page = present(MAIN.search(browser.get(reverse(name)).text)).group(0)
        for href in re.findall(r'<a class="button[^"]*" href="(/[^"]*)"', page):
            answer = browser.get(html.unescape(href), follow=True)
            assert answer.status_code == 200, f"{name} leads to {href}"
