"""Visits at the choice for five kinds of hair, made in the demo salon for the contact sheet."""

import datetime as dt
from decimal import Decimal
from typing import Unpack

from django.utils import timezone

from consult.hair.reading_fields import ZoneRead
from salon.models import Salon, Staff
from tests.factories.consult import opened, zone


def _everywhere(**changes: Unpack[ZoneRead]) -> dict[str, ZoneRead]:
    return {name: zone(**changes) for name in ("roots", "mid_lengths", "ends")}


KINDS: dict[str, dict[str, ZoneRead]] = {
    "level 10 pale": _everywhere(lifted_level=Decimal(10)),
    "level 9 yellow": _everywhere(lifted_level=Decimal(9), undertone=Decimal("0.5")),
    "level 7.5 orange": _everywhere(undertone=Decimal("-0.8")),
    "half white": _everywhere(white_percent=50),
    "two zones apart": {
        **_everywhere(lifted_level=Decimal(9)),
        "roots": zone(lifted_level=Decimal("7.5")),
    },
}


def visits_by_hair(salon: Salon, *, stylist: Staff) -> dict[str, int]:
    """Open a visit for each kind of hair, read, and return its key by the kind."""
    found = {}
    for kind, readings in KINDS.items():
        at = timezone.now() - dt.timedelta(minutes=30)
        story = opened(salon, stylist=stylist, at=at, name=f"Hair {kind}")
        story.answer().read(**readings)
        found[kind] = story.visit.pk
    return found
