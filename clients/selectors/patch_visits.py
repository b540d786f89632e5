"""Times for the two visits of a patch test, placing and reading, before a colour booking."""

import datetime as dt
from dataclasses import dataclass

from clients.diary import free_time
from clients.diary.free_time import Slot
from clients.models import Client, Service
from clients.skin_test.state import Code, patch_state
from formulas.models import ProductLine
from salon.models import Salon
from salon.selectors import columns, policy_in_force

_AHEAD = dt.timedelta(days=21)
_MOST = 6


@dataclass(frozen=True)
class PatchVisits:
    """Free times for placing and for reading; `service` is what the visits are booked as."""

    service: Service
    place: list[Slot]
    read: list[Slot]
    latest_at: dt.datetime


def patch_visits(
    *,
    salon: Salon,
    client: Client,
    line: ProductLine,
    starts_at: dt.datetime,
    place_at: dt.datetime | None,
    at: dt.datetime,
) -> PatchVisits | None:
    """Return what can be offered for a colour booking, or None where no test is wanted.

    The reading follows the chosen time of placing, else the first that is offered.
    """
    state = patch_state(client=client, line=line, at=at, starts_at=max(at, starts_at))
    if state.code not in {Code.NONE, Code.VOID, Code.EXPIRED}:
        return None
    service = Service.objects.filter(salon=salon, is_patch_test=True, is_active=True).first()
    if service is None:
        return None
    policy = policy_in_force(salon=salon)
    length = dt.timedelta(minutes=service.minutes)
    stylists = list(columns(salon=salon))
    latest = starts_at - policy.wait - length
    place = (
        free_time.first_of_each_day(
            free_time.free_between(
                salon=salon, service=service, stylists=stylists,
                start=max(at, latest - _AHEAD), end=latest,
            ),
            salon, _MOST,
        )
        if latest > at
        else []
    )  # fmt: skip
    placed = place_at or (place[-1].starts_at if place else None)
    read = []
    if placed is not None:
        read = free_time.free_between(
            salon=salon, service=service, stylists=stylists,
            start=policy.readable_at(placed + length), end=starts_at - length,
        )  # fmt: skip
    return PatchVisits(service, place, _few(read, salon), latest)


def _few(slots: list[Slot], salon: Salon) -> list[Slot]:
    """Return the first start of each day, and the last one before the colour."""
    few = free_time.first_of_each_day(slots, salon, _MOST - 1)
    return few if not slots or slots[-1] in few else [*few, slots[-1]]
