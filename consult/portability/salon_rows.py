"""The rows of one salon, table by table, as plain data and back."""

import base64
from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.db import models
from django.db.models import Q
from django.db.models.functions import Cast

from clients.models import ClientKey, SlotClaim
from clients.sealed.fields import PREFIX, Sealed, SealedTextField, sealed_fields
from salon.models import Salon

APPS = ("salon", "formulas", "clients", "consult")
Model = type[models.Model]
# The columns of a row of any table, by name.
Row = dict[str, Any]
# Of this installation, of a moment, or a secret under another key: made again where it goes.
LEFT_OUT = {
    "salon.Device": "a browser that is enrolled here",
    "salon.KeySeen": "of this installation's keys",
    "salon.LinkedAccount": "of two salons; set up again",
    "salon.Passkey": "bound to this address",
    "salon.PreparedFile": "a file of a day that lies here",
    "salon.RecoveryCode": "of a second factor",
    "salon.SecondFactor": "its secret is closed by this installation's key; set up again",
    "salon.StaffSession": "who is signed in here",
    "salon.Submission": "forms that were sent here",
    "salon.Letter": "what this installation sends",
    "salon.TimetableEntry": "when this installation does what",
    "salon.WorkRun": "how far this installation's work is; what counts is on record besides",
    "salon.WorkerLease": "who works here",
    "clients.RecordMove": "between two salons of an installation; consent and copies go along",
    "clients.CalendarFeed": "an address on this server",
    "clients.DeskDraft": "typing of a day",
    "consult.Draft": "typing of a day",
    "consult.Presence": "who sits at a page",
}


def paths() -> dict[Model, str]:
    """Return how the rows of each table lead to their salon ("visit__salon"), nearest first."""
    found: dict[Model, str] = {Salon: "pk"}
    waiting: list[Model] = [Salon]
    while waiting:
        near = waiting.pop(0)
        for model in all_models():
            field = _field_to(near, model)
            if field and model not in found:
                found[model] = field if near is Salon else f"{field}__{found[near]}"
                waiting.append(model)
    found[SlotClaim] = "appointment__salon|absence__salon"  # of one or of the other
    return {model: path for model, path in found.items() if model._meta.label not in LEFT_OUT}


def all_models() -> list[Model]:
    """Return the tables of the product."""
    return [model for name in APPS for model in apps.get_app_config(name).get_models()]


def rows_of(model: Model, path: str, salon: Salon) -> Iterator[Row]:
    """Yield a table's rows of a salon: words plain, erased ones as they are stored."""
    sealed = sealed_fields(model)
    raw = {f"raw_{f.attname}": Cast(f.attname, models.TextField()) for f in sealed}
    ours = Q()
    for way in path.split("|"):
        ours |= Q(**{way: salon.pk})
    rows = model._base_manager.filter(ours).annotate(**raw).order_by("pk")
    destroyed = set(
        ClientKey.objects.filter(client__salon=salon, wrapped="").values_list("pk", flat=True)
    )
    for row in rows.iterator(chunk_size=500):
        values = {f.attname: _plain(getattr(row, f.attname)) for f in _fields(model)}
        for f in sealed:
            stored = getattr(row, f"raw_{f.attname}") or ""
            if stored.startswith(PREFIX) and int(stored.split(":")[1]) in destroyed:
                values[f.attname] = stored
        yield values


def made(model: Model, row: Row) -> models.Model:
    """Return a row that is not saved yet."""
    return model(**{f.attname: _value(f, row[f.attname]) for f in _fields(model)})


def _fields(model: Model) -> list[Any]:
    """Return the fields of a row; a key of a client leaves its secret behind."""
    fields = model._meta.concrete_fields
    return [f for f in fields if not (model is ClientKey and f.name == "wrapped")]


def _field_to(near: Model, model: Model) -> str:
    """Return the field that always leads from a table to another, or nothing."""
    for field in model._meta.concrete_fields:
        if field.is_relation and field.related_model is near and not field.null:
            return field.name
    return ""


def _plain(value: Any) -> Any:
    if isinstance(value, bytes | memoryview):
        return base64.b64encode(bytes(value)).decode()
    return value


def _value(f: Any, value: Any) -> Any:
    """Return a value as the model has it."""
    if isinstance(f, SealedTextField):
        is_erased = isinstance(value, str) and value.startswith(PREFIX)
        return Sealed(value) if is_erased else value
    if value is None or isinstance(f, models.JSONField):
        return value
    return base64.b64decode(value) if isinstance(f, models.BinaryField) else f.to_python(value)
