"""Rows for a former schema: every table, in the columns that it had then.

Odd rows leave empty what may be empty, even ones fill it. What a constraint asks beyond a
column's type is in `GIVEN`; a name in it that a schema does not have is passed over.
"""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any, TypeAlias

from django.apps.registry import Apps
from django.db import models, transaction

from tests.project.upgrade.releases import OWN_APPS

# Made by the fields that use them, with the first words that they close.
PASSED_OVER = {"clients.ClientKey"}
MOMENT = dt.datetime(2026, 3, 2, 9, 0, tzinfo=dt.UTC)
Give = Callable[["Filler", int], Any]


def _later(minutes: int) -> Give:
    return lambda filler, n: filler.moment(n) + dt.timedelta(minutes=minutes)


def _even(give: Give) -> Give:
    return lambda filler, n: None if n % 2 else give(filler, n)


def _odd(give: Give) -> Give:
    return lambda filler, n: give(filler, n) if n % 2 else None


def _row(label: str, back: int = 0) -> Give:
    return lambda filler, n: filler.row(label, n - back)


def _always(value: Any) -> Give:
    return lambda filler, n: value


GIVEN: dict[str, Give] = {
    "salon.staff.role": _always("stylist"),
    "salon.linkedaccount.other": _row("salon.staff", back=-1),
    "salon.device.screen_verdict": lambda filler, n: "" if n % 2 else "trusted",
    "formulas.stockmovement.reason": _always("received"),
    # A shade has one balance; those of older shades came with the table.
    "formulas.shelfbalance.shade": lambda filler, n: filler.newest("formulas.shade", n),
    "formulas.chartentry.level": lambda filler, n: 1 + n % 9,
    "clients.client.merged_into": _always(None),
    "clients.clientalert.text": _always("Latex"),
    "clients.service.application_minutes": _always(30),
    "clients.service.processing_minutes": _always(20),
    "clients.service.finish_minutes": _always(25),
    "clients.appointment.ends_at": _later(75),
    "clients.appointment.own_minutes": _always(75),
    "clients.appointment.processing_from": _later(30),
    "clients.appointment.processing_until": _later(50),
    "clients.absence.ends_at": _later(60),
    "clients.slotclaim.stylist": _odd(_row("salon.staff")),
    "clients.slotclaim.appointment": _odd(_row("clients.appointment")),
    "clients.slotclaim.chair": _even(_row("clients.chair")),
    "clients.slotclaim.absence": _even(_row("clients.absence")),
    "clients.erasure.recorded_by": _row("salon.staff"),
    "clients.erasure.kept_until": _always(None),  # of one that is done
    "clients.consent.recorded_by": _row("salon.staff"),
    "clients.receivedrecord.deleted_at": _always(None),
    "clients.recordmove.to_salon": _row("salon.salon", back=-1),
    "clients.recordmove.consent": lambda filler, n: filler.newest("clients.consent", n),
    "clients.recordmove.settled_at": _always(None),
    "clients.recordmove.received": _always(None),
    "clients.openinghours.opens_at": _always(dt.time(9)),
    "clients.openinghours.closes_at": _always(dt.time(18)),
    "clients.clientmerge.merged": _row("clients.client", back=-1),
    "clients.possibleduplicate.second": _row("clients.client", back=-1),
    "clients.notthesame.second": _row("clients.client", back=-1),
    "clients.patchtest.site_number": _always(1),
    "clients.patchtestreading.read_at": _later(48 * 60),
    "clients.waitingentry.appointment": _always(None),
    "consult.visit.status": _even(_always("closed")),  # else as it begins
    "consult.bowlmixed.stock_percent": _even(_always(Decimal(6))),
    "consult.hairfacts.washes_answer": lambda filler, n: "" if n % 2 else "counted",
    "consult.hairfacts.washes_assumed": _always(None),
    "consult.resultseen.level": _always(Decimal(7)),
    "consult.resultseen.warmth_left_percent": _always(45),
    "consult.signoff.method": _always("typed"),
    "consult.signoff.key_id": _always(""),  # of version 1
    "consult.signoff.signature": _always(""),
}


Column: TypeAlias = "models.Field[Any, Any]"


class Filler:
    """Fills a database again and again as its schema grows; rows keep their numbers."""

    def __init__(self) -> None:
        self._keys: dict[str, list[Any]] = {}

    def fill(self, apps: Apps) -> None:
        """Add two rows to each table of the product."""
        with transaction.atomic():
            for model in _in_order(apps):
                if model._meta.label in PASSED_OVER:
                    continue
                keys = self._keys.setdefault(model._meta.label_lower, [None])
                for _again in range(2):
                    keys.append(self._add(model, len(keys)))

    def moment(self, n: int) -> dt.datetime:
        """Return the moment of a table's n-th row, a day later than the one before."""
        return MOMENT + dt.timedelta(days=n)

    def row(self, label: str, n: int) -> Any:
        """Return the key of a table's n-th row, or of its last."""
        keys = self._keys[label]
        return keys[max(1, min(n, len(keys) - 1))]

    def newest(self, label: str, n: int) -> Any:
        """Return the key of the first of a table's two newest rows, or of the other."""
        return self._keys[label][-2 if n % 2 else -1]

    def _add(self, model: type[models.Model], n: int) -> Any:
        given = {
            field.attname: self._value(field, n)
            for field in model._meta.concrete_fields
            if not isinstance(field, models.AutoField)
        }
        return model._default_manager.create(**given).pk

    def _value(self, field: Column, n: int) -> Any:
        label = f"{field.model._meta.label_lower}.{field.name}"
        if label in GIVEN:
            given = GIVEN[label](self, n)
            if given is not None or field.null:
                return given
        if isinstance(field, models.ForeignKey):
            return self._related(field, n)
        if field.null and n % 2:
            return None
        if field.has_default():
            return field.get_default()
        return field.choices[0][0] if field.choices else self._plain(field, n)

    def _related(self, field: "models.ForeignKey[Any, Any]", n: int) -> Any:
        label = _target(field)._meta.label_lower
        if field.null and (n % 2 or label not in self._keys):
            return None
        own = label == field.model._meta.label_lower
        return self.row(label, n - 1 if own else n)

    def _plain(self, field: Column, n: int) -> Any:
        for kinds, give in _PLAIN:
            if isinstance(field, kinds):
                return give(self, field, n)
        raise NotImplementedError(f"{field.model._meta.label}.{field.name}: add it to GIVEN.")


def _text(field: Column, n: int) -> str:
    if field.name == "zones":
        return "roots"
    if field.max_length and field.max_length < 12:
        return str(n)
    return f"{field.name} {n}"[: field.max_length]


# The first that fits; a field's class may be a special case of a later one.
_PLAIN: list[tuple[Any, Callable[[Filler, Column, int], Any]]] = [
    (models.BooleanField, lambda filler, field, n: False),
    ((models.DecimalField, models.FloatField), lambda filler, field, n: field.to_python("1")),
    (models.IntegerField, lambda filler, field, n: n + 1),
    (models.DateTimeField, lambda filler, field, n: filler.moment(n)),
    (models.DateField, lambda filler, field, n: filler.moment(n).date()),
    (models.TimeField, lambda filler, field, n: filler.moment(n).time()),
    (models.JSONField, lambda filler, field, n: {"row": n}),
    (models.BinaryField, lambda filler, field, n: b"row"),
    (models.UUIDField, lambda filler, field, n: f"{n:032x}"),
    ((models.CharField, models.TextField), lambda filler, field, n: _text(field, n)),
]


def _in_order(apps: Apps) -> list[type[models.Model]]:
    """Return the product's models, each after those that its rows must point at."""
    waiting = [model for model in apps.get_models() if model._meta.app_label in OWN_APPS]
    done: list[type[models.Model]] = []
    while waiting:
        ready = [model for model in waiting if _needs(model) <= {m._meta.label for m in done}]
        assert ready, f"These point at each other: {waiting}"
        done += ready
        waiting = [model for model in waiting if model not in ready]
    return done


def _target(field: "models.ForeignKey[Any, Any]") -> type[models.Model]:
    """Return the model that a key points at, which is read by now."""
    model = field.related_model
    assert isinstance(model, type)
    return model


def _needs(model: type[models.Model]) -> set[str]:
    label = model._meta.label_lower
    return {
        _target(field)._meta.label
        for field in model._meta.concrete_fields
        if isinstance(field, models.ForeignKey)
        and _target(field) is not model
        and _target(field)._meta.app_label in OWN_APPS
        and (not field.null or f"{label}.{field.name}" in GIVEN)
    }
