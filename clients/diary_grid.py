"""A day laid out for the diary: hours, columns, blocks and the gaps between them."""

import datetime as dt
from dataclasses import dataclass, field

from clients.models import Appointment
from clients.patch_state import Code, PatchState
from salon.models import Salon, Staff

_HALF_HOUR = dt.timedelta(minutes=30)

# The kind of badge that goes with each state; the word stands beside it.
BADGES = {
    Code.CLEAR: "good",
    Code.WAITING: "info",
    Code.READY: "caution",
    Code.EXPIRED: "stop",
    Code.NONE: "stop",
    Code.VOID: "stop",
    Code.REACTED: "stop",
}


@dataclass(frozen=True)
class Block:
    """One appointment in a column."""

    appointment: Appointment
    state: PatchState | None
    badge: str


@dataclass(frozen=True)
class Free:
    """Time that can be booked."""

    starts_at: dt.datetime
    ends_at: dt.datetime


@dataclass(frozen=True)
class Column:
    """One stylist's day."""

    stylist: Staff
    blocks: list[Block]
    free: list[Free]


@dataclass(frozen=True)
class Grid:
    """A whole day."""

    opens_at: dt.datetime
    hours: list[dt.datetime]
    columns: list[Column]
    now: dt.datetime | None = field(default=None)


def day_grid(
    *,
    salon: Salon,
    day: dt.date,
    stylists: list[Staff],
    appointments: list[Appointment],
    states: dict[int, PatchState],
    now: dt.datetime,
) -> Grid:
    """Return the layout of a day between opening and closing."""
    opens = dt.datetime.combine(day, salon.opens_at, tzinfo=salon.zone)
    closes = dt.datetime.combine(day, salon.closes_at, tzinfo=salon.zone)
    shown = list(stylists)
    known = {stylist.pk for stylist in shown}
    for one in appointments:  # someone who has left still shows what was booked
        if one.stylist_id not in known:
            shown.append(one.stylist)
            known.add(one.stylist_id)
    hours = []
    hour = opens.replace(minute=0)
    while hour < closes:
        if hour >= opens:
            hours.append(hour)
        hour += dt.timedelta(hours=1)
    columns = []
    for stylist in shown:
        own = [one for one in appointments if one.stylist_id == stylist.pk]
        blocks = []
        for one in own:
            state = states.get(one.pk)
            blocks.append(Block(one, state, BADGES[state.code] if state else "plain"))
        columns.append(Column(stylist, blocks, _free(own, opens, closes, now)))
    return Grid(opens, hours, columns, now if opens <= now < closes else None)


def _free(
    own: list[Appointment], opens: dt.datetime, closes: dt.datetime, now: dt.datetime
) -> list[Free]:
    """Return bookable half hours; while a client processes, the stylist's time is free."""
    busy = [part for one in own for part in one.service.busy_parts(one.starts_at)]
    shown = [(one.starts_at, one.ends_at) for one in own]
    free = []
    start = opens
    while start + _HALF_HOUR <= closes:
        end = start + _HALF_HOUR
        covered = any(s < end and e > start for s, e in [*busy, *shown])
        if not covered and start >= now:
            free.append(Free(start, end))
        start = end
    return free
