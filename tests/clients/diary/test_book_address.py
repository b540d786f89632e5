"""Links to the booking page: what is known is filled in, nothing else."""

import datetime as dt

import time_machine
from django.template import Context, Template
from django.test import Client as Browser

from clients.diary.book_address import book_address
from clients.models import Client, Service
from clients.services import add_waiting
from salon.models import Staff
from tests.clients.conftest import TODAY, at_clock

DAY = dt.timedelta(days=1)


def drawn(tag: str, **context: object) -> str:
    """Return what a tag of the diary draws."""
    return Template("{% load booking_tags %}{% " + tag + " %}").render(Context(context))


def test_what_is_not_known_is_left_out() -> None:
    assert book_address() == "/appointments/new/?"
    assert book_address(client=7, line=None, stylist=3) == (
        "/appointments/new/?client=7&stylist=3"
    )


def test_a_moment_says_its_day_and_time_and_a_day_only_itself() -> None:
    moment = dt.datetime(2026, 3, 12, 9, 5, tzinfo=dt.UTC)

    assert book_address(at=moment).endswith("?day=2026-03-12&time=09:05")
    assert book_address(day=moment.date(), client=7).endswith("?client=7&day=2026-03-12")


def test_the_tag_says_a_moment_in_the_salon_s_time() -> None:
    at = at_clock(15)

    address = drawn("book_address client=7 at=at", at=at.astimezone(dt.UTC))

    assert address == "/appointments/new/?client=7&amp;day=2026-03-11&amp;time=15:00"


def test_a_waiting_client_is_booked_with_their_service_and_stylist(
    desk: Browser, person: Client, cut: Service, stylist: Staff, receptionist: Staff
) -> None:
    entry = add_waiting(
        client=person, service=cut, line=None, stylist=stylist, from_date=TODAY + DAY,
        until_date=TODAY + 9 * DAY, note="", by=receptionist, at=at_clock(9),
    )  # fmt: skip
    wish = f"client={person.pk}&amp;waiting={entry.pk}&amp;service={cut.pk}"

    assert drawn("book_waiting entry stylist=4 at=at", entry=entry, at=at_clock(10)) == (
        f"/appointments/new/?{wish}&amp;stylist=4&amp;day=2026-03-11&amp;time=10:00"
    )
    with time_machine.travel(at_clock(10), tick=False):
        page = desk.get("/waiting/").text
    assert f'"/appointments/new/?{wish}&amp;stylist={stylist.pk}&amp;day=2026-03-12"' in page
