"""What one sheet says of many shades: a delivery, a count."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from formulas.models import Shade


@dataclass(frozen=True)
class Delivered:
    """Tubes of a shade that came in, with their batch."""

    shade: Shade
    tubes: Decimal
    batch: str = ""
    expires_on: dt.date | None = None

    @property
    def grams(self) -> Decimal:
        """What they hold."""
        return round(self.tubes * self.shade.tube_grams, 1)


@dataclass(frozen=True)
class Counted:
    """What there is of a shade, as counted."""

    shade: Shade
    grams: Decimal
