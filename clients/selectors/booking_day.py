"""The day beside the booking form: what is booked, and every start that would fit."""

import datetime as dt
from dataclasses import dataclass, field

from clients.diary import free_time, opening
from clients.diary.day_grid import Column, Grid, day_grid
from clients.models import Appointment, Chair, Client, Service, SlotClaim
from clients.people import person
from clients.selectors.diary import absences_between, day_appointments
from clients.skin_test.gate import colour_gate
from clients.skin_test.state import patch_state
from formulas.models import ProductLine
from salon.models import Salon
from salon.selectors import columns

_QUARTER = dt.timedelta(minutes=15)


@dataclass(frozen=True)
class Start:
    """A start at which the service fits; drawn as the quarter of an hour it begins with."""

    starts_at: dt.datetime
    ends_at: dt.datetime


@dataclass(frozen=True)
class BookingDay:
    """A day's columns with the starts that fit what is being booked.

    `possible_from` is the first moment colour could start, where a test has to be placed
    first; `forbidden` says why no colour can be booked at all.
    """

    day: dt.date
    grid: Grid
    columns: list[tuple[Column, list[Start]]]
    possible_from: dt.datetime | None = None
    forbidden: list[str] = field(default_factory=list)

    @property
    def count(self) -> int:
        """How many starts are drawn."""
        return sum(len(starts) for _column, starts in self.columns)


def booking_day(
    *,
    salon: Salon,
    client: Client,
    service: Service,
    line: ProductLine | None,
    chair: Chair | None,
    day: dt.date,
    at: dt.datetime,
) -> BookingDay:
    """Return the day of everyone, with each start at which this booking would be taken."""
    begin, end = opening.day_bounds(salon=salon, day=day)
    possible, forbidden = _first_colour(client, service, line, at, begin)
    stylists = list(columns(salon=salon))
    booked = day_appointments(salon=salon, day=day)
    grid = day_grid(
        salon=salon,
        hours=opening.hours_on(salon=salon, day=day),
        usual=opening.Hours(
            opening.instant(day, salon.opens_at, salon.zone),
            opening.instant(day, salon.closes_at, salon.zone),
        ),
        stylists=stylists,
        appointments=booked,
        absences=absences_between(salon=salon, start=begin, end=end),
        states={},
        now=at,
    )
    start = max(begin, at, possible or begin)
    found = (
        []
        if forbidden or start >= end
        else free_time.free_between(
            salon=salon, service=service, stylists=stylists, start=start, end=end
        )
    )
    length = dt.timedelta(minutes=service.minutes)
    blocked = [*_own(client, booked), *_chair_spans(chair, begin, end)]
    starts: dict[int, list[Start]] = {}
    for slot in found:
        until = slot.starts_at + length
        if all(until <= span[0] or slot.starts_at >= span[1] for span in blocked):
            first_start = Start(slot.starts_at, slot.starts_at + _QUARTER)
            starts.setdefault(slot.stylist.pk, []).append(first_start)
    drawn = [(column, starts.get(column.stylist.pk, [])) for column in grid.columns]
    return BookingDay(day, grid, drawn, possible, forbidden)


def _first_colour(
    client: Client,
    service: Service,
    line: ProductLine | None,
    at: dt.datetime,
    begin: dt.datetime,
) -> tuple[dt.datetime | None, list[str]]:
    """Return from when colour could be booked, or why it cannot be at all."""
    if not service.is_colour or line is None:
        return None, []
    gate = colour_gate(client=client, line=line, at=at)
    if gate.is_forbidden:
        return None, [reason.text for reason in gate.reasons if not reason.may_be_overridden]
    state = patch_state(client=client, line=line, at=at, starts_at=max(at, begin))
    return (state.next_possible_at if state.blocks else None), []


def _own(client: Client, booked: list[Appointment]) -> list[tuple[dt.datetime, dt.datetime]]:
    """Return when the client is here already: nobody sits in two places at once."""
    ids = set(person.ids_of(client))
    return [
        (appointment.starts_at, appointment.ends_at)
        for appointment in booked
        if appointment.client_id in ids
    ]


def _chair_spans(
    chair: Chair | None, begin: dt.datetime, end: dt.datetime
) -> list[tuple[dt.datetime, dt.datetime]]:
    if chair is None:
        return []
    claims = SlotClaim.objects.filter(chair=chair, slot_at__gte=begin, slot_at__lt=end)
    five = dt.timedelta(minutes=5)
    return [(slot, slot + five) for slot in claims.values_list("slot_at", flat=True)]
