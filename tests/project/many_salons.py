"""Five hundred salons in one database, and what a page reads of it, counted and not timed."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from django.apps import apps
from django.db import connection, models

KEYS = 'FROM "clients_clientkey"'
STEPS = 10  # of the virtual machine between two looks
APPS = ("salon", "formulas", "clients", "consult")
_SCANS = ("Actual Rows", "Rows Removed by Filter", "Rows Removed by Index Recheck")


def _tables() -> list[type[models.Model]]:
    every = apps.get_models(include_auto_created=True)
    return [model for model in every if model._meta.app_label in APPS]


def last_rows() -> dict[str, int]:
    """Return the highest number of each table."""
    return {
        model._meta.db_table: model._base_manager.aggregate(n=models.Max("pk"))["n"] or 0
        for model in _tables()
        if isinstance(_number_of(model), models.AutoField | models.BigAutoField)
    }


def _number_of(model: type[models.Model]) -> Any:
    """Return the field that makes a row's number: its own, or that of the row it extends."""
    found: Any = model._meta.pk
    while isinstance(found, models.ForeignKey):
        related: Any = found.related_model
        found = related._meta.pk
    return found


def copy_rows(after: dict[str, int], copies: int) -> None:
    """Copy what was added since `after` many times, each copy pointing at its own rows."""
    steps = {table: number - after[table] for table, number in last_rows().items()}
    with connection.constraint_checks_disabled(), connection.cursor() as cursor:
        cursor.execute("CREATE TEMPORARY TABLE turn (k integer)")
        cursor.executemany("INSERT INTO turn VALUES (%s)", [(k,) for k in range(1, copies + 1)])
        for model in _tables():
            _copy(cursor, model, after, steps)
        if connection.vendor == "postgresql":
            for model in _tables():
                if isinstance(model._meta.pk, models.AutoField | models.BigAutoField):
                    table = model._meta.db_table
                    cursor.execute(
                        f"SELECT setval(pg_get_serial_sequence('{table}', 'id'),"  # noqa: S608
                        f" (SELECT max(id) + 1 FROM {table}))"
                    )
        cursor.execute("DROP TABLE turn")
        cursor.execute("ANALYZE")


def _copy(
    cursor: Any, model: type[models.Model], after: dict[str, int], steps: dict[str, int]
) -> None:
    quote = connection.ops.quote_name
    columns, values = [], []
    for each in model._meta.local_concrete_fields:
        column = f"t.{quote(each.column)}"
        columns.append(quote(each.column))
        target = _target(each)
        if target in steps:
            values.append(f"{column} + turn.k * {steps[target]}")
        elif each.unique and isinstance(each, models.CharField):
            values.append(f"{column} || '-' || turn.k")
        else:
            values.append(column)
    owner = _target(model._meta.pk)
    if owner not in steps:
        return  # keyed by what is no number: nothing of a salon
    key = quote(model._meta.pk.column)
    cursor.execute(
        f"INSERT INTO {quote(model._meta.db_table)} ({', '.join(columns)})"  # noqa: S608
        f" SELECT {', '.join(values)} FROM {quote(model._meta.db_table)} t CROSS JOIN turn"
        f" WHERE t.{key} > {after[owner]}"
    )


def _target(of: models.Field[Any, Any]) -> str:
    """Return the table whose numbers a column holds; "" where it holds something else."""
    if of.primary_key and not isinstance(of, models.ForeignKey):
        return str(of.model._meta.db_table)
    found: Any = of  # a foreign key may say "self" where types are concerned
    table = ""
    while isinstance(found, models.ForeignKey):
        related: Any = found.related_model
        found = related._meta.pk
        table = str(found.model._meta.db_table)
    return table


@dataclass
class Cost:
    """What a page's statements read, one after another."""

    sent: list[tuple[str, Any]] = field(default_factory=list)
    read: list[int] = field(default_factory=list)

    @property
    def total(self) -> int:
        """What all of them read, but for keys of clients: a block of 256 whoever has them."""
        read = zip(self.sent, self.read, strict=True)
        return sum(count for (sql, _params), count in read if KEYS not in sql)

    def grown(self, before: "Cost") -> str:
        """Return the statement that reads most more than it did before."""
        known = dict(zip((sql for sql, _params in before.sent), before.read, strict=True))
        more = [
            (read - known.get(sql, 0), sql)
            for (sql, _params), read in zip(self.sent, self.read, strict=True)
            if KEYS not in sql
        ]
        return "{} more: {}".format(*max(more))


@contextmanager
def counted() -> Iterator[Cost]:
    """Give what is read meanwhile, complete at the end.

    On SQLite that is the steps of its virtual machine; on PostgreSQL the rows that its plans
    look at, where an index that can be used is used (a table may still be small).
    """
    cost, steps, began = Cost(), [0], list[int]()

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        cost.sent.append((sql, params))
        began.append(steps[0])
        return execute(sql, params, many, context)

    def step() -> int:
        steps[0] += STEPS
        return 0

    is_sqlite = connection.vendor == "sqlite"
    if is_sqlite:
        connection.connection.set_progress_handler(step, STEPS)
    try:
        with connection.execute_wrapper(note):
            yield cost
    finally:
        if is_sqlite:
            connection.connection.set_progress_handler(None, STEPS)
    ends = [*began[1:], steps[0]]
    cost.read = (
        [end - start for start, end in zip(began, ends, strict=True)]
        if is_sqlite
        else [_rows_of(*one) for one in cost.sent]
    )


def _rows_of(sql: str, params: Any) -> int:
    if connection.vendor != "postgresql" or not sql.startswith("SELECT") or "pg_" in sql:
        return 0
    text = sql.replace(" FOR UPDATE", "").replace(" FOR NO KEY UPDATE", "")
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL enable_seqscan = off")
        cursor.execute(f"EXPLAIN (ANALYZE, TIMING OFF, FORMAT JSON) {text}", params)
        found = cursor.fetchone()[0]
    plans = json.loads(found) if isinstance(found, str) else found
    return sum(_looked_at(plan["Plan"]) for plan in plans)


def _looked_at(plan: dict[str, Any]) -> int:
    below = sum(_looked_at(one) for one in plan.get("Plans", ()))
    if "Scan" not in plan["Node Type"] or plan["Node Type"] == "Bitmap Heap Scan":
        return below
    rows = sum(plan.get(name, 0) for name in _SCANS)
    return int(below + rows * plan["Actual Loops"])
