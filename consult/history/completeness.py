"""Whether every closed visit of a time keeps its figures, so that its records need no look."""

import datetime as dt

from consult.models import Visit, VisitFigures
from salon.models import Salon
from salon.reading_once import remembered


def all_keep(*, salon: Salon, since: dt.datetime) -> bool:
    """Return whether every visit closed since a moment keeps its figures; two counts.

    A page that asks for the longest time first asks once; where one is missing there, its
    shorter times are taken to miss it too. (To look for those without would read every visit
    in vain.)
    """
    known: dict[int, tuple[dt.datetime, bool]] = remembered("all keep")
    if salon.pk in known:
        earliest, found = known[salon.pk]
        if earliest <= since or not found:
            return found
    closed = Visit.objects.for_salon(salon).closed().filter(opened_at__gte=since)
    kept = VisitFigures.objects.filter(salon=salon, opened_at__gte=since)
    known[salon.pk] = since, closed.order_by().count() == kept.count()
    return known[salon.pk][1]
