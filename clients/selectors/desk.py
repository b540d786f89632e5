"""What the desk can book with, and how it works."""

import datetime as dt

from django.db.models import QuerySet
from django.utils import timezone

from clients.models import Chair, DeskPolicy, Service
from formulas.models import ProductLine
from salon.models import Role, Salon, Staff


def services_offered(*, salon: Salon) -> QuerySet[Service]:
    """Return what can be booked."""
    return Service.objects.filter(salon=salon, is_active=True)


def chairs_in_use(*, salon: Salon) -> QuerySet[Chair]:
    """Return the chairs that can be booked."""
    return Chair.objects.filter(salon=salon, is_active=True)


def all_services(*, salon: Salon) -> QuerySet[Service]:
    """Return every service, those out of use last."""
    return Service.objects.filter(salon=salon).order_by("-is_active", "name", "pk")


def all_chairs(*, salon: Salon) -> QuerySet[Chair]:
    """Return every chair, those out of use last."""
    return Chair.objects.filter(salon=salon).order_by("-is_active", "name", "pk")


def lines_in_use(*, salon: Salon) -> QuerySet[ProductLine]:
    """Return the lines that a colour service can be booked with."""
    return ProductLine.objects.filter(salon=salon, is_active=True)


def desk_policy(*, salon: Salon) -> DeskPolicy:
    """Return how the desk works; the defaults where nothing was set."""
    return DeskPolicy.objects.filter(salon=salon).first() or DeskPolicy(salon=salon)


def is_quiet(*, salon: Salon, at: dt.datetime) -> bool:
    """Return whether no message may leave now; quiet hours may run over midnight."""
    policy = desk_policy(salon=salon)
    clock = at.astimezone(salon.zone).time()
    start, end = policy.quiet_from, policy.quiet_until
    return start <= clock < end if start < end else clock >= start or clock < end


def may_see_medical(viewer: Staff) -> bool:
    """Return whether medical notes are shown to this member of staff."""
    if viewer.role != Role.RECEPTIONIST:
        return True
    return desk_policy(salon=viewer.salon).desk_sees_medical_notes


def today(*, salon: Salon, at: dt.datetime) -> dt.date:
    """Return the date on the salon's calendar."""
    return timezone.localtime(at, salon.zone).date()
