"""What a reading of the hair consists of, and what of it needs eyes on the hair."""

from decimal import Decimal
from typing import TypedDict

from consult.models import Visit

LOOKED_AT = ("natural_level", "lifted_level", "undertone", "white_percent", "porosity")
READING_FIELDS = (
    "is_toned",
    "natural_level",
    "lifted_level",
    "undertone",
    "white_percent",
    "porosity",
    "banding",
    "note",
)


class ZoneRead(TypedDict, total=False):
    """What was read of one zone; what is left out was not looked at.

    `carried_from` is the visit whose reading was confirmed as it was.
    """

    is_toned: bool
    natural_level: Decimal | None
    lifted_level: Decimal | None
    undertone: Decimal | None
    white_percent: int | None
    porosity: Decimal | None
    banding: str
    note: str
    carried_from: Visit | None


class FactsRead(TypedDict, total=False):
    """What was seen or asked of the whole head; see `HairFacts`."""

    length: str
    density: str
    texture: str
    scalp_state: str
    scalp: str
    washes_since_toner: int | None
    washes_answer: str
    washes_assumed: int | None


class HairRead(TypedDict):
    """What the hair page hands on: every zone, and the whole head."""

    readings: dict[str, ZoneRead]
    facts: FactsRead
