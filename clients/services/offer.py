"""Writes of what can be booked: services and chairs."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients.models import Appointment, Chair, Service, Status
from salon import audit
from salon.models import Staff
from salon.policies import require_owner
from salon.refusals import Refused

_PLANNED = ("application_minutes", "processing_minutes", "finish_minutes")
_KIND = ("is_colour", "is_patch_test")
_ACTIVE = (Status.BOOKED, Status.CHECKED_IN, Status.IN_SERVICE)


class OfferRefused(Refused):
    """Raised when a change would contradict what is booked; says what to do instead."""


@transaction.atomic
def add_service(*, by: Staff, at: dt.datetime, **fields: Any) -> Service:
    """Offer another service."""
    require_owner(by=by)
    service = Service(salon=by.salon, **fields)
    _check_no_test_reason(service)
    service.full_clean()
    service.save()
    audit.record_event("service added", target=service, by=by, at=at)
    return service


@transaction.atomic
def change_service(*, service: Service, by: Staff, at: dt.datetime, **fields: Any) -> Service:
    """Change or retire a service; its times and its kind stay while it is booked.

    A booking has claimed the stylist's minutes, and the gate asks the service's kind: neither
    may shift under a booked appointment.
    """
    require_owner(service, by=by)
    current = Service.objects.select_for_update().get(pk=service.pk)
    moved = [
        n
        for n in (*_PLANNED, *_KIND)
        if fields.get(n, getattr(current, n)) != getattr(current, n)
    ]
    booked = Appointment.objects.filter(service=service, status__in=_ACTIVE).count()
    if moved and booked:
        raise OfferRefused(
            ngettext(
                "%(n)d appointment is booked with these times and this kind. Add a new "
                "service and take this one out of use.",
                "%(n)d appointments are booked with these times and this kind. Add a new "
                "service and take this one out of use.",
                booked,
            ),
            code="booked",
            n=booked,
        )
    for name, value in fields.items():
        setattr(service, name, value)
    _check_no_test_reason(service)
    service.full_clean()
    service.save()
    audit.record_event("service changed", target=service, by=by, at=at, fields=sorted(fields))
    return service


@transaction.atomic
def add_chair(*, by: Staff, at: dt.datetime, name: str) -> Chair:
    """Add a chair."""
    require_owner(by=by)
    chair = Chair(salon=by.salon, name=name)
    chair.full_clean()
    chair.save()
    audit.record_event("chair added", target=chair, by=by, at=at)
    return chair


@transaction.atomic
def change_chair(*, chair: Chair, by: Staff, at: dt.datetime, **fields: Any) -> Chair:
    """Rename or retire a chair; what is booked on it stays."""
    require_owner(chair, by=by)
    for name, value in fields.items():
        setattr(chair, name, value)
    chair.full_clean()
    chair.save()
    audit.record_event("chair changed", target=chair, by=by, at=at, fields=sorted(fields))
    return chair


def _check_no_test_reason(service: Service) -> None:
    """Refuse a service that develops like colour, but asks for no patch test or reason."""
    develops = service.processing_minutes and not service.is_patch_test
    if develops and not service.is_colour and not service.no_test_reason.strip():
        raise OfferRefused(
            _(
                "This service has processing time, as colour does. Say why it needs no "
                "patch test."
            ),
            code="needs_patch_test",
        )
