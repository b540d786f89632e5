"""What a time must fulfil before anything is claimed: hours, steps, the client's own diary."""

import datetime as dt

from django.utils import timezone
from django.utils.translation import gettext as _

from clients.diary import opening
from clients.models import Appointment, Client
from clients.models.diary import SLOT_MINUTES
from clients.people import person
from clients.services.claims import BookingRefused
from salon.models import Salon


class ClientElsewhere(BookingRefused):
    """Raised when the client would sit in two places at once and nobody has confirmed it."""


def checked_start(
    starts_at: dt.datetime, minutes: int, salon: Salon, at: dt.datetime
) -> dt.datetime:
    """Return the start as an instant, or refuse: past, between steps, outside the hours."""
    start = starts_at.astimezone(dt.UTC).replace(second=0, microsecond=0)
    if start < at - dt.timedelta(minutes=SLOT_MINUTES):
        raise BookingRefused(_("This time has passed. Choose a later one."), code="past")
    if start.astimezone(salon.zone).minute % SLOT_MINUTES:
        raise BookingRefused(
            _("Start on a multiple of five minutes, such as 10:05."), code="off_grid"
        )
    check_open(start, start + dt.timedelta(minutes=minutes), salon)
    return start


def check_open(start: dt.datetime, end: dt.datetime, salon: Salon) -> None:
    """Refuse a span outside the salon's hours."""
    hours = opening.hours_on(salon=salon, day=start.astimezone(salon.zone).date())
    if hours is None:
        raise BookingRefused(_("The salon is closed on this day."), code="closed")
    if start < hours.opens_at or end > hours.closes_at:
        raise BookingRefused(
            _("The salon is open from %(opens)s to %(closes)s; this would take until %(end)s."),
            code="outside_hours",
            opens=hours.opens_at.astimezone(salon.zone).strftime("%H:%M"),
            closes=hours.closes_at.astimezone(salon.zone).strftime("%H:%M"),
            end=end.astimezone(salon.zone).strftime("%H:%M"),
        )


def check_client_is_free(appointment: Appointment) -> None:
    """Refuse a client in two places at once, unless it is two services in one visit.

    Asked after the claims, so that a busy stylist is named first. The client's rows are held
    until the end of the transaction: two desks that book the same client with two stylists
    come one after the other, and the second is refused.
    """
    ids = person.ids_of(appointment.client)
    rows = Client.objects.filter(pk__in=ids).order_by("pk")
    list(rows.select_for_update(no_key=True).values_list("pk", flat=True))
    if appointment.is_together:
        return
    other = (
        Appointment.objects.active()
        .filter(
            client__in=ids,
            starts_at__lt=appointment.ends_at,
            ends_at__gt=appointment.starts_at,
        )
        .exclude(pk=appointment.pk)
        .select_related("service", "stylist", "salon")
        .first()
    )
    if other is not None:
        raise ClientElsewhere(
            _(
                "%(client)s already has %(service)s with %(stylist)s at %(when)s. Choose "
                "another time, or confirm that these are two services in one visit."
            ),
            client=appointment.client,
            service=other.service,
            stylist=other.stylist,
            when=timezone.localtime(other.starts_at, other.salon.zone).strftime("%H:%M"),
        )
