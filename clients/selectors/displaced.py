"""Who has to be phoned because a stylist is away, has left, or the salon is closed."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db.models import Q, QuerySet

from clients.diary import free_time
from clients.diary.free_time import Slot
from clients.models import Appointment, AppointmentEvent, ClientCall, SlotClaim, Status
from clients.people import person
from clients.selectors.diary import states_of
from clients.skin_test.state import PatchState
from salon.models import Salon, Staff
from salon.selectors import columns

_LEFT_FOR = dt.timedelta(days=30)
_SLOT = dt.timedelta(minutes=5)
Span = tuple[dt.datetime, dt.datetime]


@dataclass
class Displaced:
    """One booked client who cannot be served as booked, and what became of the booking.

    `others` could take the same time; where nobody can, `later` holds free times near it.
    """

    appointment: Appointment
    was_at: dt.datetime
    was_with: Staff
    outcome: str  # open, here, moved or cancelled
    state: PatchState | None = None
    colour: Appointment | None = None
    others: list[Staff] = field(default_factory=list)
    later: list[Slot] = field(default_factory=list)
    calls: list[ClientCall] = field(default_factory=list)

    @property
    def is_open(self) -> bool:
        """Whether something is still to be done."""
        return self.outcome == "open"


def displaced(
    *,
    salon: Salon,
    spans: list[Span],
    stylist: Staff | None,
    since: dt.datetime | None,
    at: dt.datetime,
    same_time: bool = True,
) -> list[Displaced]:
    """Return who was booked in some spans of time, of one stylist or of everyone, in order.

    What was moved or cancelled since the reason came up stays on the list as done; it is told
    from the appointments' own history. `same_time` says whether colleagues are at work then.
    """
    rows = _still_booked(salon, spans, stylist)
    rows += _settled(
        salon, spans, stylist, since or at - _LEFT_FOR, {r.appointment.pk for r in rows}
    )
    rows.sort(key=lambda row: (row.was_at, row.appointment.pk))
    _add_calls(rows)
    _add_tests(rows, at)
    _add_ways(salon, [row for row in rows if row.is_open], at, same_time)
    return rows


def count_open(rows: Iterable[Displaced]) -> int:
    """Return how many still wait for somebody to act."""
    return sum(row.is_open for row in rows)


def _still_booked(salon: Salon, spans: list[Span], stylist: Staff | None) -> list[Displaced]:
    inside = Q(pk__in=[])
    for start, end in spans:
        inside |= Q(starts_at__lt=end, ends_at__gt=start)
    found = Appointment.objects.for_salon(salon).for_show().active().filter(inside)
    if stylist is not None:
        found = found.filter(stylist=stylist)
    return [
        Displaced(
            appointment,
            appointment.starts_at,
            appointment.stylist,
            "open" if appointment.status == Status.BOOKED else "here",
        )
        for appointment in found
        if appointment.status != Status.DONE
    ]


def _settled(
    salon: Salon, spans: list[Span], stylist: Staff | None, since: dt.datetime, known: set[int]
) -> list[Displaced]:
    """Return what stood in a span until somebody moved or cancelled it after `since`."""
    inside = Q(pk__in=[])
    for start, end in spans:
        inside |= Q(starts_at__lt=end, starts_at__gte=start)
    once_there: QuerySet[AppointmentEvent] = AppointmentEvent.objects.filter(
        inside, appointment__salon=salon
    )
    if stylist is not None:
        once_there = once_there.filter(stylist=stylist)
    ids = set(once_there.values_list("appointment", flat=True)) - known
    history: dict[int, list[AppointmentEvent]] = defaultdict(list)
    events = AppointmentEvent.objects.filter(appointment__in=ids).select_related("stylist")
    for event in events.order_by("recorded_at", "pk"):
        history[event.appointment_id].append(event)
    rows = []
    for appointment in Appointment.objects.filter(pk__in=ids).for_show():
        left = _left(history[appointment.pk], spans, stylist, since)
        if left is not None:
            rows.append(
                Displaced(
                    appointment,
                    left.starts_at,
                    left.stylist,
                    "cancelled" if appointment.is_off else "moved",
                )
            )
    return rows


def _left(
    events: list[AppointmentEvent], spans: list[Span], stylist: Staff | None, since: dt.datetime
) -> AppointmentEvent | None:
    """Return the last row that stood in a span, where the row after it came in time."""
    for event, after in zip(reversed(events[:-1]), reversed(events[1:]), strict=True):
        is_same = stylist is None or event.stylist_id == stylist.pk
        booked = event.status == Status.BOOKED
        if is_same and booked and any(start <= event.starts_at < end for start, end in spans):
            return event if after.recorded_at >= since else None
    return None


def _add_calls(rows: list[Displaced]) -> None:
    calls = ClientCall.objects.filter(appointment__in=[row.appointment.pk for row in rows])
    by_appointment: dict[int, list[ClientCall]] = defaultdict(list)
    for call in calls.select_related("recorded_by"):
        by_appointment[call.appointment_id or 0].append(call)
    for row in rows:
        row.calls = by_appointment[row.appointment.pk]


def _add_tests(rows: list[Displaced], at: dt.datetime) -> None:
    """Add the state of each test, and the colour that a visit for a test is for."""
    waiting = [row for row in rows if row.is_open]
    states = states_of([row.appointment for row in waiting], at=at)
    visits = [row for row in waiting if row.appointment.service.is_patch_test]
    clients = [row.appointment.client for row in visits]
    entries = person.entries_of(clients)
    colour: dict[int, Appointment] = {}
    booked = Appointment.objects.filter(
        client__in=list(entries), line__isnull=False, status=Status.BOOKED, starts_at__gte=at
    )
    for appointment in booked.for_show().order_by("-starts_at"):
        colour[entries[appointment.client_id]] = appointment
    for row in waiting:
        row.state = states.get(row.appointment.pk)
    for row in visits:
        row.colour = colour.get(entries[row.appointment.client_id])


def _add_ways(salon: Salon, rows: list[Displaced], at: dt.datetime, same_time: bool) -> None:
    """Add who could take the same time, else free times near it."""
    stylists = list(columns(salon=salon))
    if not rows or not stylists:
        return
    first = min(row.appointment.starts_at for row in rows)
    last = max(row.appointment.ends_at for row in rows)
    taken: dict[int, set[dt.datetime]] = defaultdict(set)
    claims = SlotClaim.objects.filter(
        stylist__in=stylists, slot_at__gte=first, slot_at__lt=last
    )
    for stylist_id, slot_at in claims.values_list("stylist", "slot_at"):
        taken[stylist_id].add(slot_at)
    for row in rows:
        appointment = row.appointment
        if same_time and appointment.starts_at >= at:
            row.others = [
                other
                for other in stylists
                if other.pk != appointment.stylist_id
                and taken[other.pk].isdisjoint(_slots(appointment))
            ]
        if not row.others:
            row.later = free_time.nearest(
                salon=salon, at=at, service=appointment.service, stylist=None,
                wanted_at=appointment.starts_at,
                most=3,
            )  # fmt: skip


def _slots(appointment: Appointment) -> set[dt.datetime]:
    return {
        start + number * _SLOT
        for start, end in appointment.busy_parts()
        for number in range(int((end - start) / _SLOT))
    }
