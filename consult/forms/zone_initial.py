"""Where the form of one zone starts."""

from collections.abc import Mapping
from decimal import Decimal

from consult.hair.reading_fields import READING_FIELDS
from consult.models import (
    ZoneReading,
)
from consult.zones import Zone


def zone_initial(
    readings: Mapping[str, ZoneReading], zone: str, reached: Mapping[str, Decimal]
) -> dict[str, object]:
    """Return where a zone starts: as read, else empty.

    The level that a step of today `reached` comes before all of these.
    """
    row = readings.get(zone)
    over = Zone.values[Zone.values.index(zone) - 1] if zone != Zone.ROOTS else ""
    as_over = bool(over) and reached.get(zone) == reached.get(over)
    lifted: dict[str, object] = {"lifted_level": reached[zone]} if zone in reached else {}
    if row is None:
        return dict(lifted)
    initial = {name: getattr(row, name) for name in READING_FIELDS}
    initial["porosity"] = f"{row.porosity.normalize():f}"
    above = readings.get(over)
    skipped = {"is_toned", "note"} | ({"lifted_level"} if zone in reached else set())
    initial["same"] = (
        above is not None
        and as_over
        and all(
            getattr(row, name) == getattr(above, name)
            for name in READING_FIELDS
            if name not in skipped
        )
    )
    return initial | lifted
