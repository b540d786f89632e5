"""Which hair carries the last toner, and which visit laid it on."""

import datetime as dt

from consult import zones
from consult.models import Visit
from formulas.washes import washes_since

# After so many washes hardly any demi-permanent toner is left (trade texts: 10 to 12 and
# more).
MOST_WASHES = 24
# Regrowth is new hair; mid-lengths and ends carry the last toner (model assumption).
KEEPS_TONER = frozenset({zones.Zone.MID_LENGTHS, zones.Zone.ENDS})


def last_toned(visit: Visit) -> Visit | None:
    """Return the client's last closed visit before this one."""
    return Visit.objects.closed_before(visit).first()


def leaves_toner(visit: Visit) -> bool:
    """Return whether the client's last visit may have left toner of the same line."""
    last = last_toned(visit)
    return last is not None and last.closed_at is not None and last.line_id == visit.line_id


def washes_assumed(visit: Visit, *, at: dt.datetime) -> int | None:
    """Return the washes to count with where nobody asked, or None where none is left."""
    last = last_toned(visit)
    if last is None or last.closed_at is None or last.line_id != visit.line_id:
        return None
    washes = round(washes_since(last=last.closed_at, now=at))
    return washes if washes <= MOST_WASHES else None
