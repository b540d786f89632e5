"""What the apps enter at the ground floor, so that it need not know who is above it.

Each app has a module `registration`, found by Django's `autodiscover_modules` at start.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext

from salon.models.staff import Role


@dataclass(frozen=True, order=True)
class Place:
    """A place in the bar: the lower `position` comes first."""

    position: int
    label: Promise | str
    url_name: str
    roles: frozenset[Role]


_places: dict[str, Place] = {}
_salon_pages: dict[str, Place] = {}
_homes: dict[str, str] = {}
_leaving_pages: list[str] = []
_screen_checks: list[str] = []
_bar_tools: list[str] = []
_records: dict[str, str] = {}
_events: dict[str, str] = {}


def add_places(*places: Place) -> None:
    """Enter places of the bar."""
    _places.update({place.url_name: place for place in places})


def add_salon_pages(*places: Place) -> None:
    """Enter pages that the salon's own page leads to."""
    _salon_pages.update({place.url_name: place for place in places})


def start_at(homes: Mapping[str, str]) -> None:
    """Enter the page (by route) that the day of a role starts with."""
    _homes.update(homes)


def lead_leavers_to(url_name: str) -> None:
    """Enter the page (by route, of a person) that hands on what a leaver had booked."""
    _leaving_pages[:] = [url_name]


def check_screens_at(url_name: str) -> None:
    """Enter the page (by route) that checks the screen it is open on."""
    _screen_checks[:] = [url_name]


def put_in_bar(template: str) -> None:
    """Enter what is drawn at the end of the bar on every page, such as a find box."""
    if template not in _bar_tools:
        _bar_tools.append(template)


def name_records(names: Mapping[str, str]) -> None:
    """Enter what the record of changes calls models, by label ("clients.patchtest")."""
    _records.update(names)


def name_events(*kinds: str) -> None:
    """Enter kinds of events whose English code is shown as it is."""
    _events.update({kind: kind for kind in kinds})


def word_events(words: Mapping[str, str]) -> None:
    """Enter kinds of events whose code, kept by records, is no word of the salon."""
    _events.update(words)


def places_of(role: str) -> list[Place]:
    """Return the places that a role opens, in order."""
    found = (place for place in _places.values() if role in place.roles)
    return sorted(found, key=lambda place: place.position)


def salon_pages() -> list[Place]:
    """Return what the salon's own page leads to, in order."""
    return sorted(_salon_pages.values(), key=lambda place: place.position)


def home_of(role: str) -> str:
    """Return the route that the day of a role starts with."""
    return _homes[role]


def leaving_page() -> str:
    """Return the route of the page for a member of staff who leaves."""
    return _leaving_pages[0]


def screen_check() -> str:
    """Return the route of the page that checks a screen."""
    return _screen_checks[0]


def bar_tools() -> list[str]:
    """Return the templates drawn at the end of the bar."""
    return list(_bar_tools)


def records() -> frozenset[str]:
    """Return the labels of every model that has a name."""
    return frozenset(_records)


def events() -> frozenset[str]:
    """Return every kind of event that has a name."""
    return frozenset(_events)


def record_name(label: str) -> str:
    """Return what a model is called in the reader's language; its label if no app named it."""
    known = _records.get(label)
    return gettext(known) if known else label


def event_name(kind: str) -> str:
    """Return a kind of event in the reader's language; the code itself if no app named it."""
    return gettext(_events.get(kind, kind)).replace("_", " ")
