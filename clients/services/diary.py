"""Writes of the diary: book, move, cancel. Overlaps are kept out by `claims`."""

import datetime as dt
import uuid

from django.db import transaction
from django.db.models import Q
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from clients.diary import opening
from clients.models import Appointment, AppointmentEvent, Chair, Client, Service, Status
from clients.models.diary import SLOT_MINUTES
from clients.services.claims import BookingRefused, release, save_and_claim
from formulas.models import ProductLine
from salon import audit
from salon.models import Salon, Staff

MOST_REPEATS = 12


class AlreadyChecked(BookingRefused):
    """Raised when an appointment can no longer be moved or cancelled."""


class StaleAppointment(BookingRefused):
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
    series: uuid.UUID | None = None,
) -> Appointment:
    """Book a time; the stylist's busy parts and the chair are then taken."""
    client = client.merged_into or client
    _check_one_salon(by.salon, client, service, stylist, line, chair)
    starts_at = checked_start(starts_at, service, by.salon, at)
    if service.is_colour and line is None:
        raise BookingRefused(_("Choose the product line: the patch test is for one line."))
    appointment = Appointment(
        salon=by.salon,
        client=client,
        stylist=stylist,
        chair=chair,
        service=service,
        line=line if service.is_colour else None,
        note=note,
        is_walk_in=is_walk_in,
        is_proposed=is_proposed,
        series=series,
    )
    appointment.place_at(starts_at)
    save_and_claim(appointment)
    _mark_as_regular(client, starts_at)
    record_change(appointment, by=by, at=at)
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
    **booking: object,
) -> list[Appointment]:
    """Book the same clock time every few weeks: all of them, or none and which clash."""
    if not 2 <= count <= MOST_REPEATS or not 1 <= every_weeks <= 52:
        raise BookingRefused(_("Repeat 2 to 12 times, every 1 to 52 weeks."))
    local = timezone.localtime(starts_at, by.salon.zone)
    series, booked, clashes = uuid.uuid4(), [], []
    for number in range(count):
        day = local.date() + dt.timedelta(weeks=every_weeks * number)
        start = opening.instant(day, local.time(), by.salon.zone)
        try:
            with transaction.atomic():
                one = book_appointment(
                    starts_at=start,
                    by=by,
                    at=at,
                    series=series,
                    **booking,  # type: ignore[arg-type]
                )
            booked.append(one)
        except BookingRefused as refusal:
            clashes.append(f"{date_format(day, _('D j M Y'))}: {refusal}")
    if clashes:
        raise BookingRefused(_("Nothing was booked.") + " " + " ".join(clashes))
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
    expected_version: int | None = None,
) -> Appointment:
    """Move a booked appointment to another time or stylist; None keeps the chair."""
    _check_one_salon(by.salon, appointment, stylist, chair)
    one = _locked_while_booked(appointment, expected_version)
    one.place_at(checked_start(starts_at, one.service, by.salon, at))
    one.stylist = stylist
    one.chair = chair or one.chair
    one.is_proposed = False  # whoever moves it has agreed the new time
    one.version += 1
    save_and_claim(one)
    _mark_as_regular(one.client, one.starts_at)
    record_change(one, by=by, at=at)
    audit.record_event("appointment moved", target=one, by=by, at=at)
    appointment.refresh_from_db()
    return appointment


@transaction.atomic
def confirm_appointment(*, appointment: Appointment, by: Staff, at: dt.datetime) -> Appointment:
    """Record that the client has agreed to a time that was held for them."""
    _check_one_salon(by.salon, appointment)
    one = _locked_while_booked(appointment, None)
    if one.is_proposed:
        one.is_proposed = False
        one.version += 1
        one.save()
        record_change(one, by=by, at=at)
        audit.record_event("appointment confirmed", target=one, by=by, at=at)
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
    """Cancel an appointment, or record that the client did not come; its time is free again."""
    _check_one_salon(by.salon, appointment)
    one = _locked_while_booked(appointment, expected_version)
    if did_not_come and at < one.starts_at:
        raise BookingRefused(_("It has not begun yet: cancel it instead."))
    one.status = Status.NO_SHOW if did_not_come else Status.CANCELLED
    one.cancel_reason = reason
    one.version += 1
    one.save()
    release(one)
    record_change(one, by=by, at=at, reason=reason)
    audit.record_event("appointment ended", target=one, by=by, at=at)
    appointment.refresh_from_db()
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


def checked_start(
    starts_at: dt.datetime, service: Service, salon: Salon, at: dt.datetime
) -> dt.datetime:
    """Return the start as an instant, or refuse: past, between steps, outside the hours."""
    start = starts_at.astimezone(dt.UTC).replace(second=0, microsecond=0)
    end = start + dt.timedelta(minutes=service.minutes)
    local = start.astimezone(salon.zone)
    if start < at - dt.timedelta(minutes=SLOT_MINUTES):
        raise BookingRefused(_("This time has passed. Choose a later one."))
    if local.minute % SLOT_MINUTES:
        raise BookingRefused(_("Start on a full five minutes."))
    hours = opening.hours_on(salon=salon, day=local.date())
    if hours is None:
        raise BookingRefused(_("The salon is closed on this day."))
    if start < hours.opens_at or end > hours.closes_at:
        raise BookingRefused(
            _("The salon is open from %(opens)s to %(closes)s; this takes until %(end)s.")
            % {
                "opens": hours.opens_at.astimezone(salon.zone).strftime("%H:%M"),
                "closes": hours.closes_at.astimezone(salon.zone).strftime("%H:%M"),
                "end": end.astimezone(salon.zone).strftime("%H:%M"),
            }
        )
    return start


def _locked_while_booked(appointment: Appointment, expected_version: int | None) -> Appointment:
    """Return the row as it is now, held until the end of the transaction."""
    one = (
        Appointment.objects.select_for_update(of=("self",))
        .select_related("service", "stylist__salon", "chair", "client")
        .get(pk=appointment.pk)
    )
    if one.status != Status.BOOKED:
        raise AlreadyChecked(
            _("This appointment is already %(status)s.") % {"status": one.get_status_display()}
        )
    if expected_version is not None and one.version != expected_version:
        raise StaleAppointment(
            _("Someone else changed this appointment meanwhile. It is now at %(when)s.")
            % {"when": date_format(timezone.localtime(one.starts_at), _("D j M, H:i"))}
        )
    return one


def _mark_as_regular(client: Client, starts_at: dt.datetime) -> None:
    """Remember the latest booking: who comes often is found first."""
    Client.objects.filter(
        Q(last_booked_at__isnull=True) | Q(last_booked_at__lt=starts_at), pk=client.pk
    ).update(last_booked_at=starts_at)


def _check_one_salon(salon: Salon, *things: object) -> None:
    for thing in things:
        if thing is not None and thing.salon_id != salon.pk:  # type: ignore[attr-defined]
            raise BookingRefused(_("This belongs to another salon."))
