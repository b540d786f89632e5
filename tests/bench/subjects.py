"""What is measured: pages as they are opened, by whom, and what is wanted of each."""

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterator
from random import Random
from typing import Any
from urllib.parse import urlencode

from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from clients.models import Appointment, Client
from clients.people.duplicates import like
from consult.models import Visit
from formulas import shelf_search
from salon.models import Salon, Staff
from tests.typed import present

Subject = tuple[str, int, Callable[[], Any]]
_RECENT = 3_000  # bookings of which the fullest day is taken: some days before an empty one


def _as(role: str) -> Browser:
    person = present(Staff.objects.filter(role=role).order_by("pk").first())
    browser = Browser()
    browser.person = person  # type: ignore[attr-defined]
    _sign_in(browser)
    return browser


def _sign_in(browser: Browser) -> None:
    person: Staff = browser.person  # type: ignore[attr-defined]
    browser.force_login(person, backend="django.contrib.auth.backends.ModelBackend")


def _opened(browser: Browser, address: str) -> Callable[[], None]:
    def press() -> None:
        answer = browser.get(address)
        if answer.status_code == 302:  # idle for too long: the screen is locked
            _sign_in(browser)
            answer = browser.get(address)
        if answer.streaming:
            answer.getvalue()
        if answer.status_code != 200:
            raise SystemExit(f"{address}: {answer.status_code} {answer.headers}")

    return press


def typed_into_the_find_box(people: int = 25) -> list[Callable[[], None]]:
    """Return requests of the find box: beginnings, a whole name, a slip, a phone's end."""
    desk, dice = _as("receptionist"), Random(7)  # noqa: S311  a measurement, no secret
    ids = list(Client.objects.order_by("pk").values_list("pk", flat=True))
    found = []
    for client in Client.objects.filter(pk__in=dice.sample(ids, min(people, len(ids)))):
        last = client.name.split()[-1]
        slip = last[:1] + last[1:3][::-1] + last[3:]
        for typed in (last[:1], last[:2], client.name, slip, str(client.phone)[-4:]):
            address = reverse("clients:find") + "?" + urlencode({"q": typed})
            found.append(_opened(desk, address))
    return found


def _waiting_at(kind: str) -> Visit:
    """Return an open visit whose latest step is of a kind."""
    for visit in Visit.objects.filter(status="open"):
        if present(visit.events.order_by("-version").first()).kind == kind:
            return visit
    raise SystemExit(f"no visit waits after {kind!r}")


def _full_day(today: dt.date) -> dt.date:
    """Return the latest day before today of those with the most bookings."""
    booked = Appointment.objects.filter(starts_at__date__lt=today).order_by("-starts_at")
    starts = booked.values_list("starts_at", flat=True)[:_RECENT]
    days = Counter(start.date() for start in starts)
    return max(days, key=lambda day: (days[day], day))


def subjects() -> Iterator[Subject]:
    """Yield the name of each page, the milliseconds wanted, and how it is opened."""
    desk, stylist, owner = _as("receptionist"), _as("stylist"), _as("owner")
    salon = Salon.objects.get()
    today = timezone.now().date()
    # Somebody who comes often and was here not long ago.
    regular = Visit.objects.filter(status="closed").order_by("-pk")[100].client
    choosing, mixing = _waiting_at("hair read"), _waiting_at("bowl mixed")
    line = present(regular.visits.first()).line

    def opened(by: Browser, name: str, *args: Any, query: str = "") -> Callable[[], None]:
        return _opened(by, reverse(name, args=args) + query)

    def cold(press: Callable[[], None]) -> Callable[[], None]:
        def first() -> None:
            for kept in vars(shelf_search).values():
                if hasattr(kept, "cache_clear"):
                    kept.cache_clear()
            press()

        return first

    for typed in ("a", "mar", regular.name[:9]):
        query = f"?q={typed}"
        yield f"find box, {len(typed)} letters", 50, opened(desk, "clients:find", query=query)
    yield "day, a full one", 100, opened(desk, "clients:day_of", _full_day(today))
    yield "day, today", 100, opened(desk, "clients:day")
    yield "week", 0, opened(desk, "clients:week")
    yield "client", 150, opened(desk, "clients:detail", regular.pk)
    yield "booking form", 0, opened(desk, "clients:book", query=f"?client={regular.pk}")
    yield "tones", 200, opened(stylist, "consult:tones", regular.pk)
    yield "stylist's today", 0, opened(stylist, "consult:today")
    choice = opened(stylist, "consult:choice", choosing.pk)
    yield "choice (suggestion), cold", 300, cold(choice)
    yield "choice (suggestion)", 300, choice
    yield "formula", 300, opened(stylist, "consult:formula", mixing.pk)
    yield "bench", 0, opened(stylist, "consult:bench", mixing.pk)
    yield "stock", 300, opened(owner, "formulas:stock")
    yield "line", 300, opened(owner, "formulas:line", line.pk)
    for days in (30, 90, 365):
        since = today - dt.timedelta(days=days)
        query = f"?first={since}&last={today}"
        yield f"histories, {days} days", 300, opened(owner, "consult:histories", query=query)
    yield "learning of a line", 300, opened(owner, "consult:learning", line.pk)
    yield "skin tests", 0, opened(desk, "clients:patch_worklist")
    yield "duplicates", 300, opened(owner, "clients:duplicates")
    yield "reminders", 0, opened(owner, "clients:reminders")
    yield "changes, first page", 300, opened(owner, "salon:record_of_changes")
    oldest = "?after=2000-01-01T00:00:00_1"
    yield "changes, oldest", 300, opened(owner, "salon:record_of_changes", query=oldest)
    yield "who may be the same, typing", 0, lambda: _alike(salon, regular)
    now = timezone.now()
    yield "find_occasions", 0, lambda: _occasions(salon, now)
    for name in ("clients_client", "clients_appointment", "consult_visit"):
        yield f"Django's admin: {name}", 0, opened(owner, f"admin:{name}_changelist")


def _alike(salon: Salon, client: Client) -> Any:
    return like(salon=salon, name=client.name, phone=client.phone, email=client.email)


def _occasions(salon: Salon, now: dt.datetime) -> Any:
    from clients.messages.occasions import find_occasions  # its package comes first

    return find_occasions(salon=salon, at=now)
