"""Writes of the diary. A booking claims five-minute slots; the database keeps them single."""

import datetime as dt

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from clients.models import (
    Appointment,
    AppointmentEvent,
    Chair,
    Client,
    Service,
    SlotClaim,
    Status,
)
from clients.models.diary import SLOT_MINUTES
from formulas.models import ProductLine
from salon import audit
from salon.models import Staff

_SLOT = dt.timedelta(minutes=SLOT_MINUTES)


class BookingRefused(Exception):
    """Raised with what is wrong with a time, a stylist or a chair."""


class AlreadyChecked(BookingRefused):
    """Raised when an appointment can no longer be moved or cancelled."""


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
) -> Appointment:
    """Book a time; the stylist's busy parts and the chair are then taken."""
    starts_at = _checked_start(starts_at, service, at)
    if service.is_colour and line is None:
        raise BookingRefused(_("Choose the product line: the patch test is for one line."))
    appointment = Appointment.objects.create(
        salon=by.salon,
        client=client,
        stylist=stylist,
        chair=chair,
        service=service,
        line=line if service.is_colour else None,
        starts_at=starts_at,
        ends_at=starts_at + dt.timedelta(minutes=service.minutes),
        note=note,
    )
    _claim(appointment)
    record_change(appointment, by=by, at=at)
    audit.record_event("appointment booked", target=appointment, by=by, at=at)
    return appointment


@transaction.atomic
def move_appointment(
    *,
    appointment: Appointment,
    starts_at: dt.datetime,
    stylist: Staff,
    by: Staff,
    at: dt.datetime,
) -> Appointment:
    """Move a booked appointment to another time or stylist."""
    _check_still_booked(appointment)
    appointment.starts_at = _checked_start(starts_at, appointment.service, at)
    appointment.ends_at = appointment.starts_at + dt.timedelta(
        minutes=appointment.service.minutes
    )
    appointment.stylist = stylist
    appointment.version += 1
    appointment.save()
    appointment.claims.all().delete()
    _claim(appointment)
    record_change(appointment, by=by, at=at)
    audit.record_event("appointment moved", target=appointment, by=by, at=at)
    return appointment


@transaction.atomic
def cancel_appointment(
    *,
    appointment: Appointment,
    reason: str,
    by: Staff,
    at: dt.datetime,
    did_not_come: bool = False,
) -> Appointment:
    """Cancel an appointment, or record that the client did not come; its time is free again."""
    _check_still_booked(appointment)
    appointment.status = Status.NO_SHOW if did_not_come else Status.CANCELLED
    appointment.cancel_reason = reason
    appointment.version += 1
    appointment.save()
    appointment.claims.all().delete()
    record_change(appointment, by=by, at=at, reason=reason)
    audit.record_event("appointment ended", target=appointment, by=by, at=at)
    return appointment


def record_change(
    appointment: Appointment, *, by: Staff, at: dt.datetime, reason: str = ""
) -> None:
    """Add the row that keeps what the appointment became."""
    AppointmentEvent.objects.create(
        appointment=appointment,
        status=appointment.status,
        starts_at=appointment.starts_at,
        stylist=appointment.stylist,
        reason=reason,
        recorded_at=at,
        recorded_by=by,
    )


def _check_still_booked(appointment: Appointment) -> None:
    if appointment.status != Status.BOOKED:
        raise AlreadyChecked(
            _("This appointment is already %(status)s.")
            % {"status": appointment.get_status_display()}
        )


def _checked_start(starts_at: dt.datetime, service: Service, at: dt.datetime) -> dt.datetime:
    salon = service.salon
    start = starts_at.replace(second=0, microsecond=0)
    local = timezone.localtime(start, salon.zone)
    end = timezone.localtime(start + dt.timedelta(minutes=service.minutes), salon.zone)
    if start < at - dt.timedelta(minutes=SLOT_MINUTES):
        raise BookingRefused(_("This time has passed. Choose a later one."))
    if local.minute % SLOT_MINUTES:
        raise BookingRefused(_("Start on a full five minutes."))
    if (
        local.time() < salon.opens_at
        or end.time() > salon.closes_at
        or end.date() != local.date()
    ):
        raise BookingRefused(
            _("The salon is open from %(opens)s to %(closes)s; this takes until %(end)s.")
            % {
                "opens": salon.opens_at.strftime("%H:%M"),
                "closes": salon.closes_at.strftime("%H:%M"),
                "end": end.strftime("%H:%M"),
            }
        )
    return start


def _claim(appointment: Appointment) -> None:
    """Claim the slots, in one order for everyone: unsorted inserts would deadlock."""
    claims = [
        SlotClaim(appointment=appointment, stylist=appointment.stylist, slot_at=slot)
        for start, end in appointment.service.busy_parts(appointment.starts_at)
        for slot in _slots(start, end)
    ]
    if appointment.chair:
        claims += [
            SlotClaim(appointment=appointment, chair=appointment.chair, slot_at=slot)
            for slot in _slots(appointment.starts_at, appointment.ends_at)
        ]
    try:
        with transaction.atomic():
            SlotClaim.objects.bulk_create(sorted(claims, key=_claim_order))
    except IntegrityError as error:
        taken = "chair" if "chair" in str(error) else "stylist"
        raise BookingRefused(
            _("%(chair)s is taken at this time.") % {"chair": appointment.chair}
            if taken == "chair"
            else _("%(stylist)s is busy at this time. Choose another time or stylist.")
            % {"stylist": appointment.stylist}
        ) from error


def _claim_order(claim: SlotClaim) -> tuple[bool, int, dt.datetime]:
    return (claim.chair_id is not None, claim.chair_id or claim.stylist_id or 0, claim.slot_at)


def _slots(start: dt.datetime, end: dt.datetime) -> list[dt.datetime]:
    count = int((end - start) / _SLOT)
    return [start + number * _SLOT for number in range(count)]
