"""Times that could be booked: computed from the claims in force, never stored."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass

from clients.diary import opening
from clients.models import Service, SlotClaim
from clients.models.diary import SLOT_MINUTES
from salon.models import Salon, Staff
from salon.selectors import columns

_SLOT = dt.timedelta(minutes=SLOT_MINUTES)
_STEP = dt.timedelta(minutes=15)
_DAYS_AHEAD = 14


@dataclass(frozen=True)
class Slot:
    """A start that a service would fit."""

    starts_at: dt.datetime
    stylist: Staff


def free_between(
    *,
    salon: Salon,
    service: Service,
    stylists: list[Staff],
    start: dt.datetime,
    end: dt.datetime,
) -> list[Slot]:
    """Return every quarter of an hour at which the service fits, in order; three queries."""
    first, last = start.astimezone(salon.zone).date(), end.astimezone(salon.zone).date()
    if last < first:
        return []
    taken: dict[int, set[dt.datetime]] = defaultdict(set)
    claims = SlotClaim.objects.filter(
        stylist__in=stylists, slot_at__gte=start - _STEP, slot_at__lt=end + dt.timedelta(days=1)
    )
    for stylist_id, slot_at in claims.values_list("stylist_id", "slot_at"):
        taken[stylist_id].add(slot_at)
    found = []
    for hours in opening.hours_between(salon=salon, first=first, last=last).values():
        if hours is None:
            continue
        moment = hours.opens_at
        while moment + dt.timedelta(minutes=service.minutes) <= hours.closes_at:
            if start <= moment <= end:
                found += [
                    Slot(moment, stylist)
                    for stylist in stylists
                    if _fits(service, moment, taken[stylist.pk])
                ]
            moment += _STEP
    return found


def _fits(service: Service, moment: dt.datetime, taken: set[dt.datetime]) -> bool:
    for part_start, part_end in service.parts_at(moment).busy:
        slot = part_start
        while slot < part_end:
            if slot in taken:
                return False
            slot += _SLOT
    return True


def nearest(
    *,
    salon: Salon,
    at: dt.datetime,
    service: Service,
    stylist: Staff | None,
    wanted_at: dt.datetime,
    most: int = 4,
) -> list[Slot]:
    """Return the free starts nearest to the wanted one, in order of time."""
    stylists = [stylist] if stylist else list(columns(salon=salon))
    start = max(at, wanted_at - dt.timedelta(days=1))
    end = start + dt.timedelta(days=_DAYS_AHEAD)
    slots = free_between(salon=salon, service=service, stylists=stylists, start=start, end=end)
    near = sorted(slots, key=lambda s: (abs(s.starts_at - wanted_at), s.starts_at))[:most]
    return sorted(near, key=lambda slot: slot.starts_at)


def first_of_each_day(slots: list[Slot], salon: Salon, most: int) -> list[Slot]:
    """Return the first free start of each day, so that a client can choose a day."""
    by_day: dict[dt.date, Slot] = {}
    for slot in slots:
        by_day.setdefault(slot.starts_at.astimezone(salon.zone).date(), slot)
    return list(by_day.values())[:most]
