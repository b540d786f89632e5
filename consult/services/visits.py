"""A visit opens, stops and closes."""

import datetime as dt

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from clients import services as desk
from clients.models import Appointment
from clients.models import Status as Booking
from consult import policies
from consult.history import kept_figures
from consult.models import Status, Visit, VisitEvent
from consult.services.steps import advance
from consult.visit.loading import facts_of
from consult.visit.next_slot import NextSlot
from consult.visit.path import Act
from formulas.models import ProductLine
from salon import audit
from salon.models import Staff
from salon.refusals import Refused


class OpeningRefused(Refused):
    """Raised with the reason why a visit cannot open."""


class ClosingRefused(Refused):
    """Raised when something is still missing before a visit may close."""


@transaction.atomic
def open_visit(
    *,
    appointment: Appointment,
    by: Staff,
    at: dt.datetime,
    line: ProductLine | None = None,
    corrects: Visit | None = None,
) -> Visit:
    """Open the visit of a checked-in appointment; one that is open already is returned."""
    visit = Visit(
        salon=appointment.salon,
        appointment=appointment,
        client=appointment.client,
        stylist=by,
        line=line or appointment.line,
        opened_at=at,
        corrects=corrects,
    )
    policies.check_can_see(by=by, visit=visit)
    existing = Visit.objects.open().filter(appointment=appointment).first()
    if existing:
        return existing
    _check_may_open(visit)
    try:
        with transaction.atomic():
            visit.save()
    except IntegrityError:  # someone opened it in this very moment
        return Visit.objects.open().get(appointment=appointment)
    if corrects:
        kept_figures.note_redone(corrects)
    if appointment.status == Booking.CHECKED_IN:
        try:
            desk.start_service(appointment=appointment, by=by, at=at)
        except desk.CheckInRefused as refusal:
            raise OpeningRefused.of(refusal) from refusal
    VisitEvent.objects.create(
        visit=visit,
        version=visit.version,
        kind="visit opened",
        status=visit.status,
        recorded_at=at,
        recorded_by=by,
    )
    audit.record_event("visit opened", target=visit, by=by, at=at, version=visit.version)
    return visit


def _check_may_open(visit: Visit) -> None:
    appointment, earlier = visit.appointment, visit.corrects
    if visit.line_id is None:
        raise OpeningRefused(
            _("This appointment has no product line, so it has no colour."), code="no_line"
        )
    if visit.line.salon_id != visit.salon_id:
        raise OpeningRefused(
            _("This product line belongs to another salon."), code="other_salon"
        )
    if earlier and (earlier.client_id != visit.client_id or not earlier.has_ended):
        raise OpeningRefused(
            _("You can only correct an ended visit of the same client."), code="not_correctable"
        )
    redo_now = earlier is not None and earlier.appointment_id == appointment.pk
    allowed = {Booking.CHECKED_IN, Booking.IN_SERVICE} | ({Booking.DONE} if redo_now else set())
    if appointment.status not in allowed:
        raise OpeningRefused(
            _("Check the client in at the desk first: the appointment is %(status)s."),
            code="not_checked_in",
            status=appointment.get_status_display(),
        )
    closed = Visit.objects.filter(appointment=appointment, status=Status.CLOSED)
    if closed.exists() and not redo_now:
        raise OpeningRefused(_("The visit of this appointment is closed."), code="closed")


@transaction.atomic
def stop_visit(
    *,
    visit: Visit,
    reason: str,
    by: Staff,
    at: dt.datetime,
    expected_version: int | None = None,
) -> Visit:
    """End a visit before any colour went on, with the reason."""
    policies.check_can_work_on(by=by, visit=visit)
    facts = facts_of(visit, at=at)
    if not facts.may(Act.STOP):
        raise ClosingRefused(facts.why_not(Act.STOP), code=Act.STOP)
    if not reason.strip():
        raise ClosingRefused(_("Say why you end the visit."), code="no_reason")
    advance(
        visit,
        to=Status.STOPPED,
        kind="visit stopped",
        by=by,
        at=at,
        expected_version=expected_version,
        fields={"closed_at": at, "stop_reason": reason.strip()[:200]},
    )
    kept_figures.note_end(visit)
    _finish_booking(visit, by=by, at=at)
    return visit


@transaction.atomic
def close_visit(
    *,
    visit: Visit,
    by: Staff,
    at: dt.datetime,
    next_visit_date: dt.date | None = None,
    next_slot: NextSlot | None = None,
    expected_version: int | None = None,
) -> Visit:
    """Close a visit whose result is on record; from then on it can only be read.

    `next_slot` holds that time in the diary, to be confirmed by the desk; taken in between, it
    refuses and nothing is closed.
    """
    policies.check_can_work_on(by=by, visit=visit)
    facts = facts_of(visit, at=at)
    if not facts.may(Act.CLOSE):
        raise ClosingRefused(facts.why_not(Act.CLOSE), code=Act.CLOSE)
    if next_visit_date and next_visit_date <= at.astimezone(visit.salon.zone).date():
        raise ClosingRefused(_("The next visit must be in the future."), code="next_in_past")
    held = _hold(visit, next_slot, by=by, at=at) if next_slot else None
    if held:
        next_visit_date = held.starts_at.astimezone(visit.salon.zone).date()
    advance(
        visit,
        to=Status.CLOSED,
        kind="visit closed",
        by=by,
        at=at,
        expected_version=expected_version,
        fields={
            "closed_at": at,
            "next_visit_date": next_visit_date,
            "next_appointment": held,
        },
    )
    kept_figures.keep([visit.pk], salon=visit.salon)
    _finish_booking(visit, by=by, at=at)
    return visit


def _hold(visit: Visit, slot: NextSlot, *, by: Staff, at: dt.datetime) -> Appointment:
    try:
        return desk.book_appointment(
            client=visit.client,
            service=visit.appointment.service,
            line=visit.line if visit.appointment.service.is_colour else None,
            stylist=slot.stylist,
            starts_at=slot.starts_at,
            is_proposed=True,
            by=by,
            at=at,
        )
    except desk.BookingRefused as refusal:
        raise ClosingRefused.of(refusal) from refusal


def _finish_booking(visit: Visit, *, by: Staff, at: dt.datetime) -> None:
    if visit.appointment.status == Booking.IN_SERVICE:
        desk.finish_service(appointment=visit.appointment, by=by, at=at)
