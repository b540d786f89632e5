"""A salon of the first day: every page that names no record opens, and an empty one says so.

Each empty list says in words what is missing and what to do next, or that nothing is to be
done. A new page without a record needs its row in one of the two tables.
"""

import html
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from salon import services as house
from salon.models import Role, Staff
from tests.factories.salon import StaffFactory
from tests.project.role_table import TABLE
from tests.project.test_roles import ROUTES
from tests.typed import SignIn, present

# What is empty, and what to do about it.
EMPTY = {
    "clients:book": ("No clients yet", "Add a client"),
    "clients:day": ("Nobody takes clients yet", "Give someone on the team a column"),
    "clients:duplicates": ("No duplicates found", "You can undo it"),
    "clients:find": ("No clients yet", "Add a client"),
    "clients:hours": ("Nobody is away.", "Add time off"),
    "clients:imports": ("Lists appear here", "Import a list"),
    "clients:offer": ("You cannot book anything yet", "Add the first service"),
    "clients:patch_worklist": ("Nobody is waiting for a reading.", "Needs a test"),
    "clients:calls": ("Nobody to phone today", "Clients appear here"),
    "clients:values_to_correct": ("Nothing to correct",),
    "clients:reminders": ("Nothing to send.", "Until tomorrow evening"),
    "clients:consent_register": ("Nobody was asked yet", "appear here once"),
    "clients:retention": ("Nobody is past the years.", "No run yet", "Record one on"),
    "clients:who_looked": ("Nobody has looked", "Every look appears here"),
    "consult:evidence": ("Nothing is signed yet", "first client has signed"),
    "clients:waiting": ("The waiting list is empty", "Add a client"),
    "clients:week": ("Nobody is booked this week.", "Book someone"),
    "clients:withdrawn_photos": (
        "Nothing to delete",
        "There is consent for every stored photo",
    ),
    "consult:visit_list": ("No visits were closed in this period.", "Results"),
    "consult:histories": ("No closed visits yet", "First steps"),
    "consult:today": ("No one is booked today", "Bookings appear here"),
    "formulas:lines": ("No line yet", "Add the toner line"),
    "formulas:stock": ("No shade is in use yet.", "Go to the lines"),
    "formulas:delivery": ("No shade is in use yet.", "Go to the lines"),
    "formulas:count_sheet": ("No shade is in use yet.", "Go to the lines"),
    "formulas:explanation": ("No line in use", "Lines"),
    "salon:devices": ("No device is enrolled", "Open this page on a shared tablet"),
    "salon:own_pin": ("You have no PIN yet.", "New PIN"),
}
# Forms, words and what a salon has from its first minute.
NEVER_EMPTY = {
    "clients:add_chair", "clients:add_service", "clients:change_logo",
    "clients:desk_policy", "clients:new",
    "clients:own_feed", "clients:public_holidays", "clients:set_week",
    "clients:yearly_holidays",
    "consult:first_steps", "consult:try_demo",
    "consult:wording", "formulas:chart", "formulas:mixing_rules", "formulas:new_line",
    "formulas:practice",
    "formulas:replace_chart_entry", "formulas:screen_check",
    "formulas:starter_line", "salon:account",
    "salon:add_member", "salon:house", "salon:component_gallery",
    "salon:policy", "salon:add_passkey", "salon:second_factor", "salon:details",
    "salon:record_of_changes", "salon:glossary", "salon:work",
}  # fmt: skip
# They lead elsewhere when there is nothing to show, or only on an enrolled device.
LEAD_ON = {
    "clients:add_waiting", "clients:merge", "consult:start_day", "salon:home", "salon:locked",
}  # fmt: skip
# Parts of a form, and a file.
ELSEWHERE = {
    "salon:switch", "clients:booking_day", "clients:booking_tests", "formulas:order_list",
    "consult:order_list_pdf",
}  # fmt: skip
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
    for name in sorted(TABLE):
        if role not in TABLE[name] or ROUTES[name] or name in ELSEWHERE:
            continue
        response = browser.get(reverse(name))
        if response.status_code == 405:
            continue  # only posted to
        opened.add(name)
        if name in LEAD_ON:
            assert response.status_code == 302, name
            continue
        assert response.status_code == 200, name
        assert name in EMPTY or name in NEVER_EMPTY, f"{name}: what does it say when empty?"
        words = _words(present(MAIN.search(response.text)).group(0))
        for said in EMPTY.get(name, ()):
            assert said in words, f"{name} does not say {said!r}: {words[:400]}"
    if role == Role.OWNER:
        assert opened == EMPTY.keys() | NEVER_EMPTY | LEAD_ON


def test_what_to_do_next_can_be_done(client_for: SignIn, founder: Staff) -> None:
    """Each link that an empty page offers its owner opens."""
    browser = client_for(founder)
    for name in sorted(EMPTY):
        page = present(MAIN.search(browser.get(reverse(name)).text)).group(0)
        for href in re.findall(r'<a class="button[^"]*" href="(/[^"]*)"', page):
            answer = browser.get(html.unescape(href), follow=True)
            assert answer.status_code == 200, f"{name} leads to {href}"
