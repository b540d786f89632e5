"""Writes of the diary: book, move, cancel. Overlaps are kept out by `claims`."""

import datetime as dt
import uuid
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from clients.diary import opening
from clients.models import (
    Appointment,
    AppointmentEvent,
    Chair,
    Client,
    EventKind,
    Service,
    Status,
)
from clients.people import person
from clients.policies import check_can_work_at_desk
from clients.services.booking_rules import check_client_is_free, checked_start
from clients.services.claims import BookingRefused, release, save_and_claim
from formulas.models import ProductLine
from salon import audit
from salon.models import Staff
from salon.policies import records_in
from salon.refusals import Stale

MOST_REPEATS = 12


class AlreadyChecked(BookingRefused):
    """Raised when an appointment can no longer be moved or cancelled."""


class StaleAppointment(BookingRefused, Stale):
    """Raised when someone else changed the appointment since it was shown."""


@transaction.atomic
def book_appointment(
    *,
    client: Client,
    service: Service,
    stylist: Staff,
    starts_at: dt.datetime,
    by: Staff,
    at: dt.datetime,
    line: ProductLine | None = None,
    chair: Chair | None = None,
    note: str = "",
    is_walk_in: bool = False,
    is_proposed: bool = False,
    is_together: bool = False,
    series: uuid.UUID | None = None,
    **money: Any,
) -> Appointment:
    """Book a time; the stylist's busy parts and the chair are then taken.

    `is_together` says that the client sits with two stylists at once on purpose; `money` is
    what was quoted and paid in advance.
    """
    check_can_work_at_desk(client, service, stylist, line, chair, by=by)
    client = person.root(client)
    starts_at = checked_start(starts_at, service.minutes, by.salon, at)
    if service.is_colour and line is None:
        raise BookingRefused(
            _("Choose the product line. A patch test counts for one line."), code="line_missing"
        )
    if line is not None and not service.is_colour:
        raise BookingRefused(
            _("This service uses no colour. Do not choose a product line."),
            code="line_not_needed",
        )
    appointment = Appointment(
        salon=by.salon,
        client=client,
        stylist=stylist,
        chair=chair,
        service=service,
        line=line,
        note=note,
        is_walk_in=is_walk_in,
        is_proposed=is_proposed,
        is_together=is_together,
        series=series,
        **money,
    )
    appointment.place_at(starts_at)
    save_and_claim(appointment)
    check_client_is_free(appointment)
    _mark_as_regular(client, starts_at)
    record_change(appointment, EventKind.BOOKED, by=by, at=at)
    audit.record_event("appointment booked", target=appointment, by=by, at=at)
    return appointment


@transaction.atomic
def book_series(
    *,
    every_weeks: int,
    count: int,
    starts_at: dt.datetime,
    by: Staff,
    at: dt.datetime,
    **booking: Any,
) -> list[Appointment]:
    """Book the same clock time every few weeks: all of them, or none and which clash."""
    check_can_work_at_desk(*records_in(booking), by=by)
    if not 2 <= count <= MOST_REPEATS or not 1 <= every_weeks <= 52:
        raise BookingRefused(_("Repeat 2 to 12 times, every 1 to 52 weeks."), code="repeats")
    local = timezone.localtime(starts_at, by.salon.zone)
    series, booked, clashes = uuid.uuid4(), [], []
    for number in range(count):
        day = local.date() + dt.timedelta(weeks=every_weeks * number)
        start = opening.instant(day, local.time(), by.salon.zone)
        try:
            with transaction.atomic():
                appointment = book_appointment(
                    starts_at=start,
                    by=by,
                    at=at,
                    series=series,
                    **booking,
                )
            booked.append(appointment)
        except BookingRefused as refusal:
            clashes.append(f"{date_format(day, _('D j M Y'))}: {refusal}")
    if clashes:
        raise BookingRefused(_("Nothing was booked.") + " " + " ".join(clashes), code="clashes")
    return booked


@transaction.atomic
def move_appointment(
    *,
    appointment: Appointment,
    starts_at: dt.datetime,
    stylist: Staff,
    by: Staff,
    at: dt.datetime,
    chair: Chair | None = None,
    is_together: bool = False,
    expected_version: int | None = None,
) -> Appointment:
    """Move a booked appointment to another time or stylist; None keeps the chair."""
    check_can_work_at_desk(appointment, stylist, chair, by=by)
    locked = locked_while_booked(appointment, expected_version)
    before = {"stylist": str(locked.stylist), "time": locked.starts_at.isoformat()}
    locked.place_at(checked_start(starts_at, locked.minutes, by.salon, at))
    locked.stylist = stylist
    locked.chair = chair or locked.chair
    locked.is_proposed = False  # whoever moves it has agreed the new time
    locked.is_together = locked.is_together or is_together
    locked.confirmed_at = locked.late_at = None  # they were about the time that it had
    locked.version += 1
    save_and_claim(locked)
    check_client_is_free(locked)
    _mark_as_regular(locked.client, locked.starts_at)
    after = {"stylist": str(stylist), "time": locked.starts_at.isoformat()}
    changes = [
        [name, before[name], after[name]] for name in before if before[name] != after[name]
    ]
    record_change(locked, EventKind.MOVED, by=by, at=at, changes=changes)
    audit.record_event("appointment moved", target=locked, by=by, at=at)
    appointment.refresh_from_db()
    return appointment


@transaction.atomic
def confirm_appointment(*, appointment: Appointment, by: Staff, at: dt.datetime) -> Appointment:
    """Record that the client has agreed to a time that was held for them."""
    check_can_work_at_desk(appointment, by=by)
    locked = locked_while_booked(appointment, None)
    if locked.is_proposed:
        locked.is_proposed = False
        locked.version += 1
        locked.save()
        record_change(locked, EventKind.AGREED, by=by, at=at)
        audit.record_event("appointment confirmed", target=locked, by=by, at=at)
    appointment.refresh_from_db()
    return appointment


@transaction.atomic
def cancel_appointment(
    *,
    appointment: Appointment,
    reason: str,
    by: Staff,
    at: dt.datetime,
    did_not_come: bool = False,
    expected_version: int | None = None,
) -> Appointment:
    """Cancel an appointment, or record a no-show; its time is free again."""
    check_can_work_at_desk(appointment, by=by)
    locked = locked_while_booked(appointment, expected_version)
    if did_not_come and at < locked.starts_at:
        raise BookingRefused(
            _("The appointment has not started yet. Cancel it instead."), code="not_started"
        )
    locked.status = Status.NO_SHOW if did_not_come else Status.CANCELLED
    locked.cancel_reason = reason
    locked.version += 1
    locked.save()
    release(locked)
    record_change(locked, EventKind.ENDED, by=by, at=at, reason=reason)
    audit.record_event("appointment ended", target=locked, by=by, at=at)
    appointment.refresh_from_db()
    return appointment


def record_change(
    appointment: Appointment,
    kind: str = "",
    *,
    by: Staff,
    at: dt.datetime,
    reason: str = "",
    changes: list[list[str]] | None = None,
) -> None:
    """Add the row that keeps what was done and what the appointment became."""
    check_can_work_at_desk(appointment, by=by)
    AppointmentEvent.objects.create(
        appointment=appointment,
        kind=kind,
        changes=changes or [],
        status=appointment.status,
        starts_at=appointment.starts_at,
        stylist=appointment.stylist,
        reason=reason,
        recorded_at=at,
        recorded_by=by,
    )


def locked_while_booked(appointment: Appointment, expected_version: int | None) -> Appointment:
    """Return a booked row as it is now, held until the end of the transaction."""
    return locked_appointment(appointment, expected_version, only=Status.BOOKED)


def locked_appointment(
    appointment: Appointment, expected_version: int | None, *, only: str = ""
) -> Appointment:
    """Return the row as it is now, held until the end of the transaction."""
    locked = (
        Appointment.objects.select_for_update(of=("self",))
        .select_related("salon", "service", "line", "stylist__salon", "chair", "client__salon")
        .get(pk=appointment.pk)
    )
    if only and locked.status != only:
        raise AlreadyChecked(
            _("This appointment is already %(status)s."),
            code="status",
            status=locked.get_status_display(),
        )
    if expected_version is not None and locked.version != expected_version:
        raise StaleAppointment(
            _(
                "Someone else changed this appointment since you opened it. "
                "It is now at %(when)s."
            ),
            when=date_format(timezone.localtime(locked.starts_at), _("D j M, H:i")),
        )
    return locked


def _mark_as_regular(client: Client, starts_at: dt.datetime) -> None:
    """Remember the latest booking: who comes often is found first."""
    Client.objects.filter(
        Q(last_booked_at__isnull=True) | Q(last_booked_at__lt=starts_at), pk=client.pk
    ).update(last_booked_at=starts_at)
