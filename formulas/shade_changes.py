"""What the owner sets of a shade."""

from decimal import Decimal
from typing import TypedDict


class ShadeChanges(TypedDict, total=False):
    """The fields of a shade that are set; what is left out stays as it is. See `Shade`."""

    name: str
    level: Decimal | None
    tones: dict[str, float]
    reflectance: list[float] | None
    tube_grams: Decimal
    tube_price: Decimal
    reorder_grams: Decimal | None
    allergens: str
    gtin: str
    is_active: bool
