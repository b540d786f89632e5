"""Booking a colour with the two visits of its patch test, all of them or none."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import Appointment, Client, Service
from clients.policies import check_can_work_at_desk
from clients.services.claims import BookingRefused
from clients.services.diary import book_appointment
from salon.models import Staff
from salon.policies import records_in
from salon.selectors import policy_in_force

When = tuple[dt.datetime, Staff]


@transaction.atomic
def book_with_test(
    *, client: Client, place: When, read: When, by: Staff, at: dt.datetime, **booking: Any
) -> Appointment:
    """Book colour, the visit that places its test and the one that reads it; return colour."""
    check_can_work_at_desk(client, place[1], read[1], *records_in(booking), by=by)
    service = Service.objects.filter(salon=by.salon, is_patch_test=True, is_active=True).first()
    if service is None:
        raise BookingRefused(
            _("You have no patch-test visit among your services. Add one first."),
            code="no_test_visit",
        )
    policy = policy_in_force(salon=by.salon)
    length = dt.timedelta(minutes=service.minutes)
    placed, seen, colour = place[0] + length, read[0], booking["starts_at"]
    if placed + policy.wait > colour:
        raise BookingRefused(
            _("Place the test at least %(hours)d hours before the colour."),
            code="placed_too_late",
            hours=policy.wait // dt.timedelta(hours=1),
        )
    if seen < policy.readable_at(placed):
        raise BookingRefused(
            _("The test can be read %(hours)d hours after it was placed, not earlier."),
            code="read_too_early",
            hours=policy.patch_read_hours,
        )
    if seen + length > colour:
        raise BookingRefused(
            _("The test must be read before the colour starts."), code="read_too_late"
        )
    booked = book_appointment(client=client, by=by, at=at, **booking)
    for starts_at, stylist in (place, read):
        book_appointment(
            client=client, service=service, stylist=stylist, starts_at=starts_at, by=by, at=at
        )
    return booked
