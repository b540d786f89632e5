"""The zones of a head in the colours that were read."""

from collections.abc import Mapping
from typing import TypedDict

from django.utils.translation import gettext as _

from consult.agreement.statement import half_level
from consult.models import ZoneReading
from consult.zones import Zone
from formulas.drawing.strands import hair_hex
from formulas.engine_inputs import Ground


class ZoneStrand(TypedDict):
    """A zone as the head is drawn; without a colour it is not read yet."""

    zone: str
    hex: str
    note: str


def zone_strands(ground: Ground, readings: Mapping[str, ZoneReading]) -> list[ZoneStrand]:
    """Return the zones as the head is drawn: colour and level of each that was read."""
    drawn: list[ZoneStrand] = []
    for zone in Zone.values:
        row = readings.get(zone)
        if row is None:
            drawn.append({"zone": zone, "hex": "", "note": ""})
            continue
        colour = hair_hex(
            ground.chart,
            lifted_level=float(row.lifted_level),
            undertone=float(row.undertone),
            white_percent=float(row.white_percent),
        )
        note = _("level %(level)s") % {"level": half_level(float(row.lifted_level))}
        drawn.append({"zone": zone, "hex": colour, "note": note})
    return drawn
