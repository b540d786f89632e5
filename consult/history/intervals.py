"""How long a client stays away, and when they are due again by their own rhythm."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from django.db.models import Exists, OuterRef, QuerySet

from clients.people import person
from consult.models import Visit
from salon.models import Salon

# Fewer intervals of a client are no rhythm.
FEWEST_INTERVALS = 2


def followed(visits: QuerySet[Visit]) -> QuerySet[Visit]:
    """Return those of some visits after which another one of the same entry has closed."""
    later = Visit.objects.closed().filter(
        client=OuterRef("client"), opened_at__gt=OuterRef("opened_at")
    )
    return visits.filter(Exists(later))


def spaced(pks: Sequence[int], *, salon: Salon) -> dict[int, tuple[int | None, dt.date | None]]:
    """Return (days since the visit before, when the next is due) of visits; two queries."""
    chosen = Visit.objects.filter(pk__in=pks).annotate(person=person.id_through("client"))
    rows = (
        Visit.objects.for_salon(salon)
        .closed()
        .filter(person.named_by("client", list(chosen.values_list("person", flat=True))))
        .annotate(person=person.id_through("client"))
        .order_by("opened_at", "pk")
        .values_list("pk", "person", "opened_at", "next_visit_date", "corrects")
    )
    days: dict[int, list[dt.date]] = defaultdict(list)
    found: dict[int, tuple[int | None, dt.date | None]] = {}
    for pk, own_id, opened_at, agreed, corrects in rows:
        own = days[own_id]
        since = None
        if corrects is None:
            own.append(opened_at.astimezone(salon.zone).date())
            since = (own[-1] - own[-2]).days if len(own) > 1 else None
        found[pk] = since, agreed or (usual(own) if own else None)
    return found


def usual(own: Sequence[dt.date]) -> dt.date | None:
    """Return when a client would come again by their own rhythm; None where none shows."""
    gaps = [(after - before).days for before, after in pairwise(own[-6:])]
    if len(gaps) < FEWEST_INTERVALS:
        return None
    return own[-1] + dt.timedelta(days=round(median(gaps)))
