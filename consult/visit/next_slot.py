"""The time that is held for the next visit."""

import datetime as dt
from dataclasses import dataclass

from salon.models import Staff


@dataclass(frozen=True)
class NextSlot:
    """A time with a stylist, to be held for the next visit."""

    starts_at: dt.datetime
    stylist: Staff
