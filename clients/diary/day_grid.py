"""A day laid out for the diary: hours, columns, blocks and the gaps between them."""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field

from clients.diary.block import Block, Span, badge_of
from clients.diary.opening import Hours
from clients.models import Absence, AbsenceKind, Appointment, ClientAlert, Status
from clients.people import person
from clients.skin_test.state import PatchState
from salon.models import Salon, Staff

_STEP = dt.timedelta(minutes=15)
_HALF_HOUR = dt.timedelta(minutes=30)
_GRACE = dt.timedelta(minutes=5)


@dataclass(frozen=True)
class Free:
    """Time that can be booked; `inset` where it is a gap while someone processes."""

    starts_at: dt.datetime
    ends_at: dt.datetime
    inset: bool = False


@dataclass(frozen=True)
class Column:
    """One stylist's day."""

    stylist: Staff
    blocks: list[Block]
    free: list[Free]
    absences: list[Absence]

    @property
    def to_settle(self) -> int:
        """How many clients are booked while the stylist is away."""
        away = [absence for absence in self.absences if absence.kind != AbsenceKind.BREAK]
        return sum(
            any(
                block.appointment.starts_at < absence.ends_at
                and block.appointment.ends_at > absence.starts_at
                for absence in away
            )
            for block in self.blocks
            if block.appointment.status == Status.BOOKED
        )

    @property
    def absence(self) -> Absence | None:
        """Why the stylist is not in, where it is more than a break."""
        return next(
            (absence for absence in self.absences if absence.kind != AbsenceKind.BREAK), None
        )


@dataclass(frozen=True)
class Grid:
    """A whole day; `hours` is None where the salon is closed and nothing is booked."""

    opens_at: dt.datetime
    closes_at: dt.datetime
    hours: list[dt.datetime]
    columns: list[Column]
    is_closed: bool = False
    now: dt.datetime | None = field(default=None)

    @property
    def in_order(self) -> list[Block]:
        """Every block by time, for the list."""
        blocks = [block for column in self.columns for block in column.blocks]
        return sorted(blocks, key=lambda block: (block.appointment.starts_at, block.inset))


def day_grid(
    *,
    salon: Salon,
    hours: Hours | None,
    usual: Hours,
    stylists: list[Staff],
    appointments: list[Appointment],
    absences: list[Absence],
    states: dict[int, PatchState],
    now: dt.datetime,
    alerts: Mapping[int, Sequence[ClientAlert]] | None = None,
    too_young: Set[int] = frozenset(),
    no_consent: Set[int] = frozenset(),
) -> Grid:
    """Return the layout of a day between opening and closing.

    What is booked outside the hours (they may have changed since) widens the day, so that
    nothing that is booked is ever hidden. `alerts` are those that the reader may see, by
    person; `too_young` the appointments of clients under age, `no_consent`
    those of who has withdrawn the consent to keep health data.
    """
    shown = hours or usual
    opens = min([shown.opens_at, *(appointment.starts_at for appointment in appointments)])
    closes = max([shown.closes_at, *(appointment.ends_at for appointment in appointments)])
    opens = _full_hour(opens, salon)
    local_today = now.astimezone(salon.zone).date()
    booked_with: dict[int, list[Appointment]] = defaultdict(list)
    for appointment in appointments:
        booked_with[appointment.stylist_id].append(appointment)
    columns = []
    for stylist in _with_leavers(stylists, appointments):
        booked = booked_with[stylist.pk]
        away = [absence for absence in absences if absence.stylist_id == stylist.pk]
        blocks = [
            _block(
                appointment,
                booked,
                states,
                local_today,
                salon,
                alerts=alerts or {},
                is_too_young=appointment.pk in too_young,
                has_no_consent=appointment.pk in no_consent,
            )
            for appointment in booked
        ]
        free = _free(booked, away, hours, now) if stylist in stylists else []
        columns.append(Column(stylist, blocks, free, away))
    return Grid(
        opens_at=opens,
        closes_at=closes,
        hours=_hours(opens, closes),
        columns=columns,
        is_closed=hours is None,
        now=now if opens <= now < closes else None,
    )


def _full_hour(moment: dt.datetime, salon: Salon) -> dt.datetime:
    local = moment.astimezone(salon.zone)
    return moment - dt.timedelta(minutes=local.minute, seconds=local.second)


def _hours(opens: dt.datetime, closes: dt.datetime) -> list[dt.datetime]:
    count = int((closes - opens) / dt.timedelta(hours=1) + 0.99)
    return [opens + number * dt.timedelta(hours=1) for number in range(count)]


def _with_leavers(stylists: list[Staff], appointments: list[Appointment]) -> list[Staff]:
    """Return the columns: someone who has left still shows what was booked."""
    shown = list(stylists)
    known = {stylist.pk for stylist in shown}
    for appointment in appointments:
        if appointment.stylist_id not in known:
            shown.append(appointment.stylist)
            known.add(appointment.stylist_id)
    return shown


def _block(
    appointment: Appointment,
    booked: list[Appointment],
    states: dict[int, PatchState],
    today: dt.date,
    salon: Salon,
    *,
    alerts: Mapping[int, Sequence[ClientAlert]],
    is_too_young: bool,
    has_no_consent: bool,
) -> Block:
    state = states.get(appointment.pk)
    inset = any(
        other.pk != appointment.pk and other.starts_at < appointment.starts_at < other.ends_at
        for other in booked
    )
    return Block(
        appointment=appointment,
        state=state,
        badge="stop" if is_too_young or has_no_consent else badge_of(state),
        is_too_young=is_too_young,
        has_no_consent=has_no_consent,
        inset=inset,
        may_check_in=(
            appointment.status == Status.BOOKED
            and appointment.starts_at.astimezone(salon.zone).date() == today
            and not (state and state.blocks)
            and not is_too_young
            and not has_no_consent
        ),
        alerts=tuple(alerts.get(person.root_id(appointment.client), ())),
    )


def _free(
    booked: list[Appointment], away: list[Absence], hours: Hours | None, now: dt.datetime
) -> list[Free]:
    """Return bookable stretches of half an hour at most; gaps of a processing too."""
    if hours is None:
        return []
    busy = [part for appointment in booked for part in appointment.busy_parts()]
    busy += [(absence.starts_at, absence.ends_at) for absence in away]
    covered = [(appointment.starts_at, appointment.ends_at) for appointment in booked]
    free: list[Free] = []
    start = hours.opens_at
    while start + _STEP <= hours.closes_at:
        step = (start, start + _STEP)
        if start >= now - _GRACE and not _touches(step, busy):
            inset = _touches(step, covered)
            last = free[-1] if free else None
            joins = (
                last is not None
                and last.ends_at == start
                and last.inset == inset
                and last.ends_at - last.starts_at < _HALF_HOUR
            )
            if joins and last is not None:
                free[-1] = Free(last.starts_at, start + _STEP, inset)
            else:
                free.append(Free(start, start + _STEP, inset))
        start += _STEP
    return free


def _touches(span: Span, others: list[Span]) -> bool:
    return any(start < span[1] and end > span[0] for start, end in others)
