"""Pages of a list by time that begin after a row, and not after a number of rows.

A numbered page makes the database count every row and step over all before it: the last page
of a long list then costs as much as the whole list. Here each page is found by an index.
"""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Model, Q, QuerySet
from django.http import QueryDict
from django.utils.dateparse import parse_datetime

from salon.numbers import row_number


@dataclass(frozen=True)
class Slice:
    """Some rows, the latest first, and where those later and earlier begin; "" for none."""

    rows: Sequence[Any]
    later: str = ""
    earlier: str = ""

    def __iter__(self) -> Iterator[Any]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    @property
    def has_other_pages(self) -> bool:
        """Whether there is more than these rows."""
        return bool(self.later or self.earlier)


def slice_of(rows: QuerySet[Any], query: QueryDict, *, by: str, size: int) -> Slice:
    """Return the rows before or after the one that `query` names, else the latest.

    `by` is the field with their moment, by which and by whose key they are sorted. An address
    that names no row gives the latest.
    """
    after, before = _place(query.get("after", "")), _place(query.get("before", ""))
    if after:
        found = list(rows.filter(_beyond(by, after, "gt")).order_by(by, "pk")[: size + 1])
        if len(found) <= size:  # nothing is later: a whole page of the latest
            return slice_of(rows, QueryDict(), by=by, size=size)
        shown = found[:size][::-1]
        return Slice(shown, _name(shown[0], by), _name(shown[-1], by))
    if before:
        rows = rows.filter(_beyond(by, before, "lt"))
    found = list(rows.order_by(f"-{by}", "-pk")[: size + 1])
    shown = found[:size]
    return Slice(
        shown,
        _name(shown[0], by) if before and shown else "",
        _name(shown[-1], by) if len(found) > size else "",
    )


def _beyond(by: str, place: tuple[dt.datetime, int], than: str) -> Q:
    """Return the condition for what is sorted behind a place; the first part uses an index."""
    moment, key = place
    return Q(**{f"{by}__{than}e": moment}) & (
        Q(**{f"{by}__{than}": moment}) | Q(**{f"pk__{than}": key})
    )


def _name(row: Model, by: str) -> str:
    moment: dt.datetime = getattr(row, by)
    return f"{moment.astimezone(dt.UTC):%Y-%m-%dT%H:%M:%S.%f}_{row.pk}"


def _place(text: str) -> tuple[dt.datetime, int] | None:
    written, _underscore, number = text.partition("_")
    try:
        moment = parse_datetime(written)
    except ValueError:
        return None
    key = row_number(number)
    if moment is None or moment.tzinfo is not None or key is None:
        return None
    return moment.replace(tzinfo=dt.UTC), key
