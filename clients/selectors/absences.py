"""Reads of who is away, and whether anyone is booked then."""

import datetime as dt
from collections.abc import Iterable

from django.db.models import QuerySet

from clients.models import Absence, AbsenceKind, Appointment
from salon.models import Staff


def away_on(*, stylist: Staff, start: dt.datetime, end: dt.datetime) -> Absence | None:
    """Return the absence of a stylist that starts within a day."""
    return Absence.objects.filter(
        stylist=stylist, kind=AbsenceKind.AWAY, starts_at__gte=start, starts_at__lt=end
    ).first()


def absences_added_with(absence: Absence) -> QuerySet[Absence]:
    """Return the days that were marked together with an absence, itself among them."""
    if absence.added_at is None:
        return Absence.objects.filter(pk=absence.pk)
    return Absence.objects.filter(
        salon=absence.salon_id, stylist=absence.stylist_id, added_at=absence.added_at
    )


def has_bookings(absences: Iterable[Absence]) -> bool:
    """Return whether anyone is booked while a stylist is away."""
    return any(
        Appointment.objects.active()
        .filter(
            stylist=absence.stylist_id,
            starts_at__lt=absence.ends_at,
            ends_at__gt=absence.starts_at,
        )
        .exists()
        for absence in absences
    )
