"""The figures of visits that kept no bowl, in one pass: what `kept_figures` says of each."""

import datetime as dt
from itertools import groupby

from django.db import connection, transaction
from django.db.models import Exists, F, OuterRef

from consult.history import intervals
from consult.models import BowlMixed, Visit, VisitFigures
from salon.models import Salon
from salon.tools import bulk_rows

_PIECE = 20_000


def keep_plain(salon: Salon) -> None:
    """Keep the figures of every closed visit without a bowl that has none.

    Each was tested in time; nobody has two entries and nothing was redone.
    """
    bowls = BowlMixed.objects.filter(visit=OuterRef("pk"))
    rows = (
        Visit.objects.for_salon(salon)
        .closed()
        .order_by("client", "opened_at")
        .values_list(
            "pk", "client", "opened_at", "next_visit_date", "line", "stylist", Exists(bowls),
            F("figures__pk"),
        )
    )  # fmt: skip
    found: list[tuple[object, ...]] = []
    zone, moment = salon.zone, connection.ops.adapt_datetimefield_value
    for _client, visits in groupby(rows.iterator(chunk_size=_PIECE), lambda row: row[1]):
        days: list[dt.date] = []
        own = list(visits)
        for pk, _own, opened_at, agreed, line, stylist, has_bowls, kept in own:
            days.append(opened_at.astimezone(zone).date())
            if has_bowls or kept:
                continue
            since = (days[-1] - days[-2]).days if len(days) > 1 else None
            due = agreed or intervals.usual(days)
            found.append((
                pk, moment(opened_at), line, stylist, len(days) < len(own), since,
                due.isoformat() if due else None,
            ))  # fmt: skip
    columns, blank = [*_COLUMNS, *_OWN[1:]], _blank(salon)
    for start in range(0, len(found), _PIECE):
        piece = found[start : start + _PIECE]
        with transaction.atomic():
            keys = bulk_rows.reserve(VisitFigures, len(piece))
            bulk_rows.insert(
                VisitFigures,
                ["id", *columns],
                [[key, *blank, *row] for key, row in zip(keys, piece, strict=True)],
            )


_OWN = (
    "id", "visit_id", "opened_at", "line_id", "stylist_id", "is_followed", "days_since", "due_on",
)  # fmt: skip
_COLUMNS = [f.column for f in VisitFigures._meta.concrete_fields if f.column not in _OWN]


def _blank(salon: Salon) -> list[object]:
    """Return what is the same for all, as the database takes it."""
    plain = VisitFigures(salon=salon, is_tested=True, depth_run_below=0.0, warmth_run_below=0.0)
    return [
        "[]" if f.name in {"looks", "faded"} else getattr(plain, f.attname)
        for f in VisitFigures._meta.concrete_fields
        if f.column in _COLUMNS
    ]
