"""A crawler signed in as each role finds nothing that it should not.

It follows every link and every GET form of the demo salon's pages; beside that salon stands
another, whose names and records may appear nowhere.
"""

import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass

import pytest
import time_machine
from django.conf import settings
from django.core.exceptions import FieldError
from django.db import models
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from clients.models import Photo
from consult.demo import cast
from salon.models import Role, Salon, Staff
from salon.tablet import services as tablet
from tests.browser.pages import walk
from tests.factories.consult import opened
from tests.factories.photos import agree
from tests.factories.salon import SalonFactory, StaffFactory
from tests.fuzz.world import ROWS
from tests.project.crawler import Seen, crawl
from tests.project.role_table import OPEN, TABLE
from tests.project.test_roles import ROUTES

pytestmark = pytest.mark.slow
PIN = "739164"
GUEST, PERSON, HOUSE = "Xanthippe Zorrington", "Ottoline Vexworth", "The Gilded Heron"
FOREIGN = re.compile("Zorrington|Vexworth|Gilded Heron")
NAMES = {Role.OWNER: "brigid", Role.STYLIST: "tomasz", Role.RECEPTIONIST: "imke"}


@dataclass
class Street:
    """The demo salon, and another beside it in the same database."""

    salon: Salon
    other: Salon
    stranger: Staff


@pytest.fixture
def street(db: None) -> Iterator[Street]:
    with time_machine.travel(walk.MOMENT, tick=True):
        built = walk.fill()
        other = SalonFactory(name=HOUSE)
        stranger = StaffFactory(
            salon=other, role=Role.OWNER, username="ottoline", display_name=PERSON,
            has_column=True,
        )  # fmt: skip
        story = opened(other, stylist=stranger, at=timezone.now(), name=GUEST)
        story.answer()
        agree(story.visit.appointment, stranger, timezone.now())
        yield Street(built.salon, other, stranger)


def _signed_in(role: Role) -> Browser:
    browser = Browser()
    browser.post("/sign-in/", {"username": NAMES[role], "password": cast.PASSWORD})
    assert browser.session["_auth_user_id"]
    return browser


def _by_pin(role: Role) -> Browser:
    """Sign a colleague in on an enrolled tablet, and let the person take it over by PIN."""
    now = timezone.now()
    owner = Staff.objects.get(username=NAMES[Role.OWNER])
    person = Staff.objects.get(username=NAMES[role])
    tablet.set_pin(by=person, pin=PIN, at=now)
    _device, token = tablet.enrol_device(name=f"Tablet of {role}", by=owner, at=now)
    browser = Browser()
    browser.cookies[settings.DEVICE_COOKIE_NAME] = token
    browser.post("/sign-in/", {"username": NAMES[Role.STYLIST], "password": cast.PASSWORD})
    answer = browser.post("/switch/", {"staff": person.pk, "pin": PIN})
    assert answer.status_code == 302
    return browser


def _faults(seen: Seen, role: Role, *, by_pin: bool) -> Iterator[str]:
    """Yield what is wrong with a page."""
    status, name = seen.answer.status_code, seen.match.view_name
    asks = by_pin and not getattr(seen.match.func, "opens_by_pin", True)
    if name not in OPEN and role not in TABLE[name]:
        yield "a link to a page that the role may not open"
    if status not in ({403} if asks and name not in OPEN else {200, 204, 302}):
        yield f"answers {status}"
    if FOREIGN.search(seen.text):
        yield "names the other salon"
    if name in OPEN:
        return
    kept = seen.answer.headers.get("Cache-Control", "")
    if status == 200 and "no-store" not in kept:
        yield f"may be kept: {kept}"
    if seen.kind != "text/html":
        return
    policy = seen.answer.headers.get("Content-Security-Policy", "")
    if "default-src 'none'" not in policy or "unsafe" in policy:
        yield f"its policy is {policy!r}"
    yield from (f"inline: {found}" for found in seen.inline)
    for form in seen.forms:
        if form.method == "post" and "csrfmiddlewaretoken" not in form.names:
            yield f"a form without a token: {form.action}"


def _walked(browser: Browser, role: Role, *, by_pin: bool = False) -> list[Seen]:
    pages, faults = [], []
    for seen in crawl(browser):
        pages.append(seen)
        faults += [
            f"{seen.path} (from {seen.came_from}): {fault}"
            for fault in _faults(seen, role, by_pin=by_pin)
        ]
    assert not faults, "\n".join(faults)
    return pages


def _shut_to(browser: Browser, role: Role, paths: list[tuple[str, str]]) -> None:
    """Ask for pages that another role has found: each is refused as the table says."""
    for name, path in paths:
        if name not in OPEN and role not in TABLE[name]:
            assert browser.get(path).status_code == 403, (role, path)


def test_every_role_finds_its_pages_and_nothing_else(street: Street) -> None:
    browsers: dict[Role, Browser] = {role: _signed_in(role) for role in NAMES}
    pages = {role: _walked(browser, role) for role, browser in browsers.items()}

    assert sum(map(len, pages.values())) >= 300
    found = [(seen.match.view_name, seen.path) for seen in pages[Role.OWNER]]
    for role in (Role.STYLIST, Role.RECEPTIONIST):
        _shut_to(browsers[role], role, found)
    _nothing_of_the_other_salon(street, browsers)
    _a_stranger_gets_nothing(street, pages[Role.OWNER])


@pytest.mark.parametrize("role", [Role.RECEPTIONIST, Role.OWNER])
def test_who_came_by_pin_finds_what_a_pin_opens(street: Street, role: Role) -> None:
    pages = _walked(_by_pin(role), role, by_pin=True)

    statuses = {seen.answer.status_code for seen in pages}
    assert 200 in statuses
    assert 403 in statuses  # what a PIN does not open is linked, and asks for the password
    assert len(pages) > 50


def _numbers_of(other: Salon, before: str) -> list[int]:
    """Return the numbers of the other salon's records of a kind, by the word before them."""
    model = ROWS.get(before)
    if model is None:
        return []
    paths = ("salon", "client__salon", "line__salon", "visit__client__salon")
    for path in paths:
        with suppress(FieldError):  # where the table has no such way to its salon
            rows = model._base_manager.filter(models.Q(**{path: other}))
            return list(rows.values_list("pk", flat=True)[:2])
    return []


def _nothing_of_the_other_salon(street: Street, browsers: dict[Role, Browser]) -> None:
    """Ask for the other salon's numbers, reading and writing: 403 by role, else 404."""
    asked = 0
    for name in sorted(TABLE):
        for path in _addresses_in(street.other, name):
            for role, browser in browsers.items():
                ask: Callable[..., object]
                for ask in (browser.get, browser.post):
                    answer = ask(path)
                    wanted = {404, 405} if role in TABLE[name] else {403}
                    assert answer.status_code in wanted, (role, path, answer.status_code)
                    assert not FOREIGN.search(answer.text), (role, path)
                    asked += 1
    assert asked > 200


def _addresses_in(other: Salon, name: str) -> list[str]:
    needs = set(ROUTES[name])
    if "key" in needs:
        keys = Photo.objects.filter(appointment__salon=other).values_list("key", flat=True)
        return [reverse(name, kwargs={"key": key}) for key in keys]
    if "pk" not in needs:
        return []
    given = {extra: FIXED.get(extra, 1) for extra in needs - {"pk"}}
    path = reverse(name, kwargs={**given, "pk": 999_999_999})
    before = path.partition("/999999999")[0].rpartition("/")[2]
    return [reverse(name, kwargs={**given, "pk": pk}) for pk in _numbers_of(other, before)]


FIXED: dict[str, object] = {
    "day": "2026-11-25", "moment": "before", "kind": "appointment", "first_step": "tablets",
}  # fmt: skip


def _a_stranger_gets_nothing(street: Street, pages: list[Seen]) -> None:
    """Give the other salon's owner every address with a number in it that was found."""
    stranger = Browser()
    stranger.force_login(street.stranger, backend="django.contrib.auth.backends.ModelBackend")
    names = {guest.name for guest in cast.REGULARS}
    asked = 0
    for seen in pages:
        answer = stranger.get(seen.path)
        assert answer.status_code < 500, seen.path
        if {"pk", "key"} & seen.match.kwargs.keys():
            assert answer.status_code == 404, (seen.path, answer.status_code)
            asked += 1
        if not answer.streaming and "text" in answer.headers.get("Content-Type", ""):
            assert not [one for one in names if one in answer.text], seen.path
    assert asked > 50
