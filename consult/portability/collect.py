"""What is kept about a client as plain data, and the JSON schema that documents it."""

import datetime as dt
import json
from collections.abc import Iterable, Iterator
from typing import Any

from django.apps import apps
from django.db import models

from clients.models import Client
from clients.people import person
from clients.sealed.fields import SealedJSONField
from consult.portability.tables import OMITTED_FIELDS, OMITTED_OF, TABLES, Table
from salon import registry

FORMAT, VERSION = "salon-colour-record/client", 1
_TYPES: tuple[tuple[Any, Any], ...] = (
    (models.BooleanField, "boolean"),
    (models.IntegerField, "integer"),
    (models.FloatField, "number"),
    (models.DecimalField, "string"),
    (SealedJSONField, ["object", "array", "string", "number", "boolean"]),
    (models.JSONField, ["object", "array", "string", "number", "boolean"]),
)


def everything_about(
    client: Client, *, at: dt.datetime, tables: Iterable[Table] = TABLES
) -> dict[str, object]:
    """Return every row about a person, over all their entries, table by table."""
    ids = person.ids_of(client)
    return {
        "format": FORMAT,
        "version": VERSION,
        "made_at": at.isoformat(),
        "salon": client.salon.name,
        **{table.name: list(_rows(table, ids)) for table in tables},
    }


def schema() -> dict[str, object]:
    """Return what each table and field of the file means, as JSON Schema (2020-12)."""
    plain = {"type": "string"}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": FORMAT,
        "type": "object",
        "required": ["format", "version", "made_at", "salon"],
        "properties": {
            "format": {"const": FORMAT},
            "version": {"const": VERSION},
            "made_at": {"type": "string", "format": "date-time"},
            "salon": plain,
            **{table.name: _schema_of(table) for table in TABLES},
        },
    }


def fields_of(table: Table) -> list[Any]:
    """Return the fields of a table that the file holds."""
    omitted = OMITTED_FIELDS | OMITTED_OF.get(table.label, frozenset())
    model = apps.get_model(table.label)
    return [field for field in model._meta.concrete_fields if field.name not in omitted]


def _rows(table: Table, ids: list[int]) -> Iterator[dict[str, object]]:
    fields = fields_of(table)
    named = [field.name for field in fields if _names_something(field)]
    rows = apps.get_model(table.label)._default_manager.filter(**{f"{table.path}__in": ids})
    for row in rows.select_related(*named).order_by("pk"):
        yield {field.name: _value(row, field) for field in fields}


def _names_something(field: Any) -> bool:
    """Return whether a field leads out of the file: then it is written as its name."""
    inside = {table.label for table in TABLES}
    related: Any = field.related_model
    return isinstance(field, models.ForeignKey) and related._meta.label not in inside


def _value(row: models.Model, field: Any) -> Any:
    if _names_something(field):
        related = getattr(row, field.name)
        return None if related is None else str(related)
    value = getattr(row, field.attname)
    if isinstance(value, dt.datetime | dt.date | dt.time):
        return value.isoformat()
    if field.name == "snapshot":  # JSON already, as it was signed
        return json.loads(value)
    if value is None or isinstance(value, bool | int | float | str | dict | list):
        return value
    return str(value)


def _schema_of(table: Table) -> dict[str, object]:
    return {
        "type": "array",
        "description": registry.record_name(table.label.lower()),
        "items": {
            "type": "object",
            "properties": {field.name: _schema_of_field(field) for field in fields_of(table)},
            "required": [field.name for field in fields_of(table)],
            "additionalProperties": False,
        },
    }


def _schema_of_field(field: Any) -> dict[str, object]:
    if field.name == "snapshot":
        kind: Any = "object"
    elif isinstance(field, models.ForeignKey):
        kind = "string" if _names_something(field) else "integer"
    else:
        kind = next((name for one, name in _TYPES if isinstance(field, one)), "string")
    found: dict[str, object] = {"description": str(field.verbose_name)}
    kinds = [kind] if isinstance(kind, str) else kind
    found["type"] = [*kinds, "null"] if field.null else kind
    if isinstance(field, models.DateTimeField):
        found["format"] = "date-time"
    elif isinstance(field, models.DateField):
        found["format"] = "date"
    if field.choices:
        found["oneOf"] = [
            {"const": code, "title": str(label)} for code, label in field.flatchoices
        ] + ([{"const": ""}] if field.blank else [])
    return found
