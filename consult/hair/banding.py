"""Bands across the hair: what they ask of the application. Common practice, no source."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from consult import zones
from consult.models import Banding, ZoneReading

_BANDED = {Banding.SLIGHT, Banding.MARKED}


def banded_zones(readings: Iterable[ZoneReading]) -> list[str]:
    """Return the zones to tone that bands run across, in the order given."""
    return [row.zone for row in readings if row.is_toned and row.banding in _BANDED]


def advice(readings: Iterable[ZoneReading]) -> str:
    """Return how to apply where there are bands, or an empty string."""
    rows = list(readings)
    found = banded_zones(rows)
    if not found:
        return ""
    advice_text = _(
        "Banding in %(zones)s: put the mix on the darker, warmer bands first and "
        "on the lighter ones last. Look at both at every check."
    ) % {"zones": zones.words(zones.Group.of(found))}
    if any(row.banding == Banding.MARKED and row.zone in found for row in rows):
        advice_text += " " + _("Strong bands may need their own mix.")
    return advice_text
