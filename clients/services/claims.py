"""Claims on five-minute slots: the database keeps each one single."""

import datetime as dt
from collections.abc import Iterable

from django.db import IntegrityError, OperationalError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from clients.diary import overlap_guard
from clients.models import Absence, Appointment, Chair, SlotClaim
from clients.models.diary import SLOT_MINUTES
from salon.models import Staff
from salon.refusals import Refused

SLOT = dt.timedelta(minutes=SLOT_MINUTES)
Span = tuple[dt.datetime, dt.datetime]


class BookingRefused(Refused):
    """Raised with what is wrong with a time, a stylist or a chair."""


def save_and_claim(appointment: Appointment) -> None:
    """Save a booking and take the stylist's busy parts, and the chair for the whole time."""
    claims = [
        SlotClaim(appointment=appointment, stylist=appointment.stylist, slot_at=slot)
        for slot in _slots(appointment.busy_parts())
    ]
    if appointment.chair:
        claims += [
            SlotClaim(appointment=appointment, chair=appointment.chair, slot_at=slot)
            for slot in _slots([(appointment.starts_at, appointment.ends_at)])
        ]
    _wait_for_turn(appointment)
    freed = _take_away(appointment) if appointment.pk else []
    try:
        with transaction.atomic():
            appointment.save()
    except IntegrityError as error:  # the tables' own guard; on SQLite it answers first
        if overlap_guard.REFUSAL not in str(error):
            raise
        raise BookingRefused(
            _who_is_taken(claims, appointment.stylist, appointment.chair), code="taken"
        ) from error
    _insert(claims, appointment.stylist, appointment.chair)
    _give_to_absences(freed)


def _wait_for_turn(owner: Appointment | Absence) -> None:
    """Hold the rows of everyone and every chair concerned, in one order for all.

    Two bookings of one stylist then wait in line instead of each for the other: the claims
    and the exclusion constraints would be met in different order.
    """
    before = owner.claims.all() if owner.pk else SlotClaim.objects.none()
    people = {owner.stylist_id, *before.values_list("stylist", flat=True)}
    chairs = {getattr(owner, "chair_id", None), *before.values_list("chair", flat=True)}
    for model, ids in ((Staff, people - {None}), (Chair, chairs - {None})):
        rows = model._default_manager.filter(pk__in=ids).order_by("pk")
        list(rows.select_for_update(no_key=True).values_list("pk", flat=True))


def claim_for_absence(absence: Absence, *, over_bookings: bool = False) -> None:
    """Take a stylist's time for a break or a day off.

    `over_bookings` leaves what is booked to its clients until each is moved or cancelled;
    the time of each then goes to the absence and never back to the diary.
    """
    _wait_for_turn(absence)
    claims = [
        SlotClaim(absence=absence, stylist=absence.stylist, slot_at=slot)
        for slot in _slots([(absence.starts_at, absence.ends_at)])
    ]
    if over_bookings:
        SlotClaim.objects.bulk_create(sorted(claims, key=_order), ignore_conflicts=True)
    else:
        _insert(claims, absence.stylist, None)


def release(owner: Appointment | Absence) -> None:
    """Give the slots back: to the stylist's absences first, else to the diary."""
    is_absence = isinstance(owner, Absence)
    _give_to_absences(_take_away(owner), but=owner.pk if is_absence else None)


def _take_away(owner: Appointment | Absence) -> list[tuple[int, dt.datetime]]:
    """Delete an owner's claims; return the stylist and slot of each."""
    freed = owner.claims.filter(stylist__isnull=False).values_list("stylist", "slot_at")
    slots = list(freed)
    owner.claims.all().delete()
    return slots


def _give_to_absences(freed: list[tuple[int, dt.datetime]], *, but: int | None = None) -> None:
    """Let absences take slots that became free while their stylist is away."""
    if not freed:
        return
    first, last = min(slot for _who, slot in freed), max(slot for _who, slot in freed)
    away = Absence.objects.filter(
        stylist__in={stylist for stylist, _slot in freed},
        starts_at__lte=last,
        ends_at__gt=first,
    )
    if but is not None:
        away = away.exclude(pk=but)
    claims = [
        SlotClaim(absence=absence, stylist_id=stylist, slot_at=slot)
        for absence in away
        for stylist, slot in freed
        if absence.stylist_id == stylist and absence.starts_at <= slot < absence.ends_at
    ]
    SlotClaim.objects.bulk_create(sorted(claims, key=_order), ignore_conflicts=True)


def _insert(claims: list[SlotClaim], stylist: Staff, chair: Chair | None) -> None:
    """Insert in one order for everyone: unsorted inserts would deadlock."""
    try:
        with transaction.atomic():
            SlotClaim.objects.bulk_create(sorted(claims, key=_order))
    except IntegrityError as error:
        raise BookingRefused(_who_is_taken(claims, stylist, chair), code="taken") from error
    except OperationalError as error:  # two moves that want each other's time
        if "deadlock" not in str(error).lower():
            raise
        raise BookingRefused(
            _("Someone else is moving a booking to or from this time. Try again."), code="busy"
        ) from error


def _who_is_taken(claims: list[SlotClaim], stylist: Staff, chair: Chair | None) -> str:
    slots = [claim.slot_at for claim in claims]
    existing = SlotClaim.objects.filter(slot_at__in=slots).order_by("slot_at")
    taken = existing.filter(stylist=stylist).select_related("absence").first()
    if taken is None and chair is not None:
        taken = existing.filter(chair=chair).first()
    when = timezone.localtime(
        taken.slot_at if taken else min(slots), stylist.salon.zone
    ).strftime("%H:%M")
    if taken is not None and taken.chair_id:
        return _("%(chair)s is taken at %(when)s. Choose another chair or time.") % {
            "chair": chair,
            "when": when,
        }
    if taken is not None and taken.absence:
        return _("%(stylist)s is away at %(when)s: %(why)s. Choose another time.") % {
            "stylist": stylist,
            "when": when,
            "why": taken.absence.get_kind_display(),
        }
    return _("%(stylist)s is busy at %(when)s. Choose another time or stylist.") % {
        "stylist": stylist,
        "when": when,
    }


def _order(claim: SlotClaim) -> tuple[bool, int, dt.datetime]:
    return (claim.chair_id is not None, claim.chair_id or claim.stylist_id or 0, claim.slot_at)


def _slots(spans: Iterable[Span]) -> list[dt.datetime]:
    return [
        start + number * SLOT
        for start, end in spans
        for number in range(int((end - start) / SLOT))
    ]
