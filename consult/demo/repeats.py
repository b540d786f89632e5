"""Some weeks of a filled salon, repeated by the database for other clients and later weeks.

Every row between two states of the tables is inserted again with its keys and moments moved by
the same amounts each time; what points outside of them stays. Nothing in them may be sealed by
the key of a client, signed, or name a row in its JSON.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.core.management.color import no_style
from django.db import connection, models, transaction
from django.db.models import F, Sum

from clients.models import Client
from consult.demo.copies import last_keys
from consult.demo.stories import Model
from formulas.models import ShelfBalance, StockMovement
from salon.models import AuditEvent


@dataclass(frozen=True)
class Weeks:
    """What was written: after these keys; for how many clients in a row, in how many days."""

    before: Mapping[Model, int]
    clients: int
    days: int


def repeat(weeks: Weeks, *, times: int) -> None:
    """Write the weeks again, so many times; the shelf is given and gives as much each time."""
    after = last_keys()
    counts = {
        model: after[model] - last
        for model, last in weeks.before.items()
        if after[model] > last and model is not Client
    }
    for number in range(1, times + 1):
        with transaction.atomic(), connection.cursor() as cursor:
            for model in counts:
                cursor.execute(_statement(model, weeks, counts, number))
    moved = StockMovement.objects.filter(
        pk__gt=weeks.before[StockMovement], pk__lte=after[StockMovement]
    )
    for shade, grams in moved.order_by().values_list("shade").annotate(Sum("grams")):
        balance = ShelfBalance.objects.filter(shade=shade)
        balance.update(grams=F("grams") + Decimal(grams) * times)
    _move_sequences(list(counts))


def _statement(model: Model, weeks: Weeks, counts: Mapping[Model, int], number: int) -> str:
    quote = connection.ops.quote_name
    fields = model._meta.concrete_fields
    names = ", ".join(quote(f.column) for f in fields)
    values = ", ".join(_value(model, f, weeks, counts, number) for f in fields)
    key, last = quote(model._meta.pk.column), weeks.before[model]
    return (
        f"INSERT INTO {quote(model._meta.db_table)} ({names}) SELECT {values}"  # noqa: S608
        f" FROM {quote(model._meta.db_table)}"
        f" WHERE {key} > {last} AND {key} <= {last + counts[model]} ORDER BY {key}"
    )


def _value(
    model: Model,
    f: "models.Field[object, object]",
    weeks: Weeks,
    counts: Mapping[Model, int],
    number: int,
) -> str:
    column = connection.ops.quote_name(f.column)
    to = model if f.primary_key else f.related_model
    if isinstance(to, type):
        moved = _moved_key(column, to, weeks, counts, number)
        return moved or column
    if isinstance(f, models.DateField):
        return _moved_day(
            column, weeks.days * number, has_time=isinstance(f, models.DateTimeField)
        )
    if model is AuditEvent and f.name == "target_id":
        return _moved_target(column, weeks, counts, number)
    return column


def _moved_key(
    column: str, to: Model, weeks: Weeks, counts: Mapping[Model, int], number: int
) -> str:
    """Return the key of the repeated row that a key leads to; "" where nothing is repeated."""
    if to is Client:
        return f"{column} + {weeks.clients * number}"
    if to not in counts:
        return ""
    return (
        f"CASE WHEN {column} > {weeks.before[to]} THEN {column} + {counts[to] * number}"
        f" ELSE {column} END"
    )


def _moved_target(column: str, weeks: Weeks, counts: Mapping[Model, int], number: int) -> str:
    targets: list[Model] = [Client, *counts]
    number_of = f"CAST({column} AS bigint)"
    cases = " ".join(
        f"WHEN '{to._meta.label_lower}' THEN CAST("
        f"{_moved_key(number_of, to, weeks, counts, number)} AS varchar)"
        for to in targets
    )
    return f"CASE target_type {cases} ELSE {column} END"


def _moved_day(column: str, days: int, *, has_time: bool) -> str:
    if connection.vendor == "postgresql":
        return f"{column} + interval '{days} days'"
    if has_time:
        return f"datetime({column}, '+{days} days') || substr({column}, 20)"
    return f"date({column}, '+{days} days')"


def _move_sequences(changed: list[Model]) -> None:
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), changed):
            cursor.execute(statement)
