"""Writes that change an appointment without moving it: what, marks, undo of a cancellation."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import Appointment, Chair, EventKind, Service, Status
from clients.models.diary import SLOT_MINUTES
from clients.policies import check_can_work_at_desk
from clients.services.booking_rules import check_client_is_free, check_open
from clients.services.claims import BookingRefused, save_and_claim
from clients.services.diary import (
    AlreadyChecked,
    locked_appointment,
    record_change,
)
from formulas.models import ProductLine
from salon import audit
from salon.models import Staff

MARKS = {
    EventKind.CONFIRMED: "confirmed_at",
    EventKind.LATE: "late_at",
    EventKind.ARRIVED: "arrived_at",
}
_MONEY = ("quoted_price", "has_deposit", "deposit_amount", "deposit_note")


@transaction.atomic
def change_appointment(
    *,
    appointment: Appointment,
    service: Service,
    line: ProductLine | None,
    chair: Chair | None,
    minutes: int | None,
    note: str,
    by: Staff,
    at: dt.datetime,
    is_together: bool = False,
    expected_version: int | None = None,
    **money: Any,
) -> Appointment:
    """Change what is booked, at the time and with the stylist it has.

    The claims are made again, so a longer service meets the same refusal as a booking; the
    gate is asked at check-in for the line that is then booked. Once the client is checked in,
    what the gate has answered for stays as it is.
    """
    check_can_work_at_desk(appointment, service, line, chair, by=by)
    locked = locked_appointment(appointment, expected_version)
    if locked.status not in {Status.BOOKED, Status.CHECKED_IN}:
        raise AlreadyChecked(
            _("This appointment is already %(status)s."),
            code="status",
            status=locked.get_status_display(),
        )
    before = _facts(locked)
    locked.service, locked.line, locked.chair, locked.note = service, line, chair, note
    locked.own_minutes = minutes if minutes != service.minutes else None
    locked.is_together = locked.is_together or is_together
    for name in _MONEY:
        if name in money:
            setattr(locked, name, money[name])
    _check_parts(locked)
    locked.place_at(locked.starts_at)
    after = _facts(locked)
    changes = [[name, was, after[name]] for name, was in before.items() if was != after[name]]
    if not changes:
        return appointment
    changed = {name for name, _was, _is in changes}
    if locked.status == Status.CHECKED_IN and changed & {"service", "line", "length"}:
        raise AlreadyChecked(
            _("Undo the check-in first: the patch test was checked for this booking."),
            code="checked_in",
        )
    if changed & {"service", "length"}:
        _check_day(locked, at)
        check_open(locked.starts_at, locked.ends_at, by.salon)
    locked.version += 1
    save_and_claim(locked)
    if changed & {"service", "length"}:
        check_client_is_free(locked)
    # A note may hold what nobody should find in a trail: that it changed is enough.
    kept = [
        [name, "", ""] if name == "note" else [name, was, now] for name, was, now in changes
    ]
    record_change(locked, EventKind.CHANGED, by=by, at=at, changes=kept)
    audit.record_event(
        "appointment changed", target=locked, by=by, at=at, fields=sorted(changed)
    )
    appointment.refresh_from_db()
    return appointment


@transaction.atomic
def restore_appointment(
    *, appointment: Appointment, by: Staff, at: dt.datetime, is_together: bool = False
) -> Appointment:
    """Undo a cancellation or a no-show, while its time is still free."""
    check_can_work_at_desk(appointment, by=by)
    locked = locked_appointment(appointment, None)
    if not locked.is_off:
        raise AlreadyChecked(
            _("This appointment is already %(status)s."),
            code="status",
            status=locked.get_status_display(),
        )
    _check_day(locked, at)
    check_open(locked.starts_at, locked.ends_at, by.salon)
    if not (locked.stylist.has_column and locked.stylist.is_active):
        raise BookingRefused(
            _("%(stylist)s no longer takes clients. Book another stylist."),
            code="stylist_gone",
            stylist=locked.stylist,
        )
    locked.status, locked.cancel_reason = Status.BOOKED, ""
    locked.is_together = locked.is_together or is_together
    locked.version += 1
    save_and_claim(locked)
    check_client_is_free(locked)
    record_change(locked, EventKind.RESTORED, by=by, at=at)
    audit.record_event("appointment restored", target=locked, by=by, at=at)
    appointment.refresh_from_db()
    return appointment


@transaction.atomic
def mark_appointment(
    *, appointment: Appointment, kind: str, by: Staff, at: dt.datetime, on: bool = True
) -> Appointment:
    """Mark a booked appointment as confirmed, late or arrived, or remove such a mark."""
    check_can_work_at_desk(appointment, by=by)
    name = MARKS[EventKind(kind)]
    locked = locked_appointment(appointment, None)
    if locked.status != Status.BOOKED:
        raise AlreadyChecked(
            _("This appointment is already %(status)s."),
            code="status",
            status=locked.get_status_display(),
        )
    if bool(getattr(locked, name)) == on:
        return appointment
    setattr(locked, name, at if on else None)
    if kind == EventKind.ARRIVED and on:
        locked.late_at = None
    locked.version += 1
    locked.save()
    changes = [] if on else [[kind, "", ""]]
    record_change(locked, kind if on else EventKind.UNMARKED, by=by, at=at, changes=changes)
    audit.record_event("appointment marked", target=locked, by=by, at=at, mark=kind, on=on)
    appointment.refresh_from_db()
    return appointment


def _check_parts(appointment: Appointment) -> None:
    """Refuse a line without colour, colour without a line, a length that cannot be."""
    if appointment.service.is_colour and appointment.line is None:
        raise BookingRefused(
            _("Choose the product line. A patch test counts for one line."), code="line_missing"
        )
    if appointment.line is not None and not appointment.service.is_colour:
        raise BookingRefused(
            _("This service uses no colour. Do not choose a product line."),
            code="line_not_needed",
        )
    least = appointment.service.application_minutes + appointment.service.processing_minutes
    if appointment.own_minutes is None:
        return
    if appointment.own_minutes % SLOT_MINUTES:
        raise BookingRefused(
            _("The length must be a multiple of five minutes."), code="off_grid"
        )
    if appointment.service.processing_minutes and appointment.own_minutes < least:
        raise BookingRefused(
            _("At least %(least)d minutes: application and processing cannot be shortened."),
            code="too_short",
            least=least,
        )


def _check_day(appointment: Appointment, at: dt.datetime) -> None:
    zone = appointment.salon.zone
    if appointment.starts_at.astimezone(zone).date() < at.astimezone(zone).date():
        raise BookingRefused(_("This day has passed."), code="past")


def _facts(appointment: Appointment) -> dict[str, str]:
    """Return what a change may touch, in words that last."""
    return {
        "service": str(appointment.service),
        "line": str(appointment.line or ""),
        "length": str(appointment.minutes),
        "chair": str(appointment.chair or ""),
        "note": appointment.note,
        "price": _amount(appointment.quoted_price),
        "deposit": " ".join(
            part
            for part in (
                "yes" if appointment.has_deposit else "",
                _amount(appointment.deposit_amount),
                appointment.deposit_note,
            )
            if part
        ),
        "together": "yes" if appointment.is_together else "",
    }


def _amount(value: Decimal | None) -> str:
    return "" if value is None else f"{Decimal(value):.2f}"
