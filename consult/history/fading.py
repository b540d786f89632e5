"""How what was seen is expected to fade until the next visit, or until today."""

import datetime as dt
from collections.abc import Sequence

from django.utils.translation import gettext as _

from consult.agreement.statement import one_decimal
from consult.bench.starting_values import USUAL_WASHES
from consult.history.visit_record import GroupRecord, VisitRecord
from formulas import warmth_words, washes
from formulas.snapshots import WarmthLeft

_POINTS = 6


def fading_of(
    record: VisitRecord,
    group: GroupRecord,
    following: VisitRecord | None,
    *,
    today: dt.date,
) -> list[tuple[float, float, float]]:
    """Return (days, level, warmth) from a result to the next visit, or to today.

    What shows goes back to the bare hair as the toner goes (in proportion: model assumption),
    by the washes that were counted at the next visit, else two a week.
    """
    seen = group.result
    if seen is None or seen.level is None or seen.warmth_left_percent is None:
        return []
    if record.reaction or not group.is_comparable:
        return []
    until = day_of(following) if following else today
    days = (until - day_of(record)).days
    if days < 7:
        return []
    washed = _washes(following, days)
    bare = float((group.promised.get("zone") or {}).get("lifted_level") or 0)
    if not bare:
        bare = group.promised["level"]["value"] + group.promised["levels_deeper_looks"]["value"]
    found = []
    for n in range(_POINTS + 1):
        share = n / _POINTS
        left = washes.toner_left(
            line=record.visit.line, porosity=porosity_of(record), washes=washed * share
        )
        level = bare - (bare - float(seen.level)) * left
        warmth = 100.0 - (100.0 - seen.warmth_left_percent) * left
        found.append((days * share, level, warmth))
    return found


def _washes(following: VisitRecord | None, days: int) -> float:
    facts = list(following.visit.hair_facts.all()) if following else []
    if facts and facts[-1].washes_since_toner is not None:
        return float(facts[-1].washes_since_toner)
    return USUAL_WASHES * days / 7


def faded_words(fading: Sequence[tuple[float, float, float]], predicted: WarmthLeft) -> str:
    """Say how far it is expected to have faded until the next visit, or until today."""
    if not fading:
        return ""
    return _("level %(level)s, %(warmth)s") % {
        "level": one_decimal(fading[-1][1]),
        "warmth": warmth_words.short_of(predicted, fading[-1][2]),
    }


def porosity_of(record: VisitRecord) -> float:
    """Return the highest porosity that was read at a visit, 0 where none was."""
    rows = record.visit.zone_readings.all()
    return max((float(row.porosity) for row in rows), default=0.0)


def day_of(record: VisitRecord) -> dt.date:
    """Return the salon's day on which a visit was opened."""
    return record.visit.opened_at.astimezone(record.visit.salon.zone).date()
