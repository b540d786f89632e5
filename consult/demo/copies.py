"""Visits told once by the services, copied in bulk to other days and other clients.

A copy holds every row that telling wrote, in every table, each with its moment moved by the
same span. Its result is seen anew. What is signed is frozen and signed again, as the next link
of the salon's chain, and what was poured leaves the shelf.
"""

import datetime as dt
import json
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random
from typing import Any

from django.apps import apps
from django.db import connection, models, transaction
from django.db.models import F

from clients.models import Client, ClientKey, SlotClaim
from clients.sealed import fields, keys
from consult.agreement import signing, verification
from consult.models import Formula, ResultSeen, SignOff, Visit
from formulas.models import ShelfBalance, StockMovement
from salon import signing_keys
from salon.models import AuditEvent, Salon, Staff
from salon.tools import bulk_rows

Model = type[models.Model]
_APPS = ("salon", "formulas", "clients", "consult")


@dataclass
class Told:
    """Every row that a story wrote, by model, and whom and when it is about."""

    client: Client
    stylist: Staff = field(init=False)
    starts_at: dt.datetime = field(init=False)
    rows: dict[Model, list[dict[str, Any]]] = field(default_factory=dict)

    @property
    def slots(self) -> list[dt.datetime]:
        """The slots of its stylist's time."""
        return [row["slot_at"] for row in self.rows.get(SlotClaim, ()) if row["stylist_id"]]

    def drawn(self) -> dict[int, Decimal]:
        """Return the grams that it takes from the shelf, by shade; below zero."""
        grams: dict[int, Decimal] = defaultdict(Decimal)
        for row in self.rows.get(StockMovement, ()):
            grams[row["shade_id"]] += row["grams"]
        return grams


@dataclass(frozen=True)
class Copy:
    """A story that is told again: for this client, by this stylist, from this moment."""

    told: Told
    client: Client
    stylist: Staff
    starts_at: dt.datetime


def is_free(told: Told, stylist: Staff, starts_at: dt.datetime) -> bool:
    """Return whether a stylist has all the time that a copy takes of it."""
    moved = [slot + (starts_at - told.starts_at) for slot in told.slots]
    return not SlotClaim.objects.filter(stylist=stylist, slot_at__in=moved).exists()


@contextmanager
def recording(client: Client) -> Iterator[Told]:
    """Note every row that is written inside; nobody else may write meanwhile."""
    told = Told(client)
    before = _last_keys()
    yield told
    for model, last in _last_keys().items():
        if last > before[model]:
            told.rows[model] = list(
                model._default_manager.filter(pk__gt=before[model]).order_by("pk").values()
            )


def _copied_models() -> list[Model]:
    """Return the models whose rows have numbers for keys."""
    return [
        model
        for name in _APPS
        for model in apps.get_app_config(name).get_models()
        if isinstance(model._meta.pk, models.AutoField) and model is not ClientKey
    ]


def _last_keys() -> dict[Model, int]:
    quote, found = connection.ops.quote_name, _copied_models()
    each = " UNION ALL ".join(
        f"SELECT {place}, COALESCE(MAX({quote(model._meta.pk.column)}), 0)"  # noqa: S608
        f" FROM {quote(model._meta.db_table)}"
        for place, model in enumerate(found)
    )
    with connection.cursor() as cursor:
        cursor.execute(each)
        return {found[place]: last for place, last in cursor.fetchall()}


@transaction.atomic
def copy(salon: Salon, wanted: Sequence[Copy], random: Random) -> None:
    """Write copies in the order in which they were signed; no row is written twice."""
    salon = Salon.objects.select_for_update(no_key=True).get(pk=salon.pk)
    with keys.at_hand():
        _Writing(salon, random).write(wanted)


class _Writing:
    """One batch of copies: keys of new rows, and the rows as the database takes them."""

    def __init__(self, salon: Salon, random: Random) -> None:
        self.salon, self.random = salon, random
        self.signer = signing_keys.signer()
        last = SignOff.objects.filter(salon=salon).order_by("-number").first()
        self.number = last.number if last else 0
        self.digest = last.digest if last else signing.GENESIS
        self.tuples: dict[Model, list[list[Any]]] = defaultdict(list)
        self.labels = {model._meta.label_lower: model for model in _copied_models()}
        self.prepared: dict[int, dict[Model, list[list[Any]]]] = {}

    def write(self, wanted: Sequence[Copy]) -> None:
        """Copy them all, then take from the shelf what they poured."""
        counts: dict[Model, int] = defaultdict(int)
        for copied in wanted:
            for model, rows in copied.told.rows.items():
                counts[model] += len(rows)
        free = {model: iter(bulk_rows.reserve(model, n)) for model, n in counts.items()}
        drawn: dict[int, Decimal] = defaultdict(Decimal)
        latest: dict[int, dt.datetime] = {}
        for copied in wanted:
            keys = {
                (model, row["id"]): next(free[model])
                for model, rows in copied.told.rows.items()
                for row in rows
            }
            _Copying(self, copied, keys).write()
            for shade, grams in copied.told.drawn().items():
                drawn[shade] += grams
            latest[copied.client.pk] = copied.starts_at
        for model, new in self.tuples.items():
            columns = [f.column for f in model._meta.concrete_fields]
            bulk_rows.insert(model, columns, new)
        for shade, grams in drawn.items():
            ShelfBalance.objects.filter(shade=shade).update(grams=F("grams") + grams)
        for client, starts_at in latest.items():
            Client.objects.filter(pk=client).exclude(last_booked_at__gt=starts_at).update(
                last_booked_at=starts_at
            )

    def values_of(self, told: Told) -> dict[Model, list[list[Any]]]:
        """Return the rows of a story as the database takes them, worked out once."""
        if id(told) not in self.prepared:
            self.prepared[id(told)] = {
                model: [[_value(f, row[f.attname]) for f in _fields(model)] for row in rows]
                for model, rows in told.rows.items()
            }
        return self.prepared[id(told)]


class _Copying:
    """One copy: which key each of its rows gets, and by how much its moments move."""

    def __init__(
        self, batch: _Writing, copied: Copy, keys: Mapping[tuple[Model, int], int]
    ) -> None:
        self.batch, self.copied = batch, copied
        told = copied.told
        self.span = copied.starts_at - told.starts_at
        self.keys: dict[tuple[Model, Any], Any] = {
            **keys,
            (Client, told.client.pk): copied.client.pk,
            (Staff, told.stylist.pk): copied.stylist.pk,
        }
        self.link: SignOff | None = None

    def write(self) -> None:
        """Add its rows to the batch; the signature first, since the audit names it."""
        told = self.copied.told
        for row in told.rows.get(SignOff, ()):
            self.link = self._signed(row)
        values = self.batch.values_of(told)
        for model, rows in told.rows.items():
            if model is SignOff and self.link:
                link = self.link
                link_values = (getattr(link, f.attname) for f in _fields(SignOff))
                each = zip(_fields(SignOff), link_values, strict=True)
                closed = [_value(f, value, self.copied.client) for f, value in each]
                self.batch.tuples[SignOff].append(closed)
                continue
            moving = _moving(model)
            for row, known in zip(rows, values[model], strict=True):
                new = list(known)
                changed = self._changed(model, row)
                for place, f, kind in moving:
                    if f.attname in changed:
                        continue
                    value = row[f.attname]
                    if value is None:
                        continue
                    new[place] = self._moved(f, kind, value)
                for place, f in enumerate(_fields(model)):
                    if f.attname in changed or isinstance(f, fields.SealedTextField):
                        value = changed.get(f.attname, row[f.attname])
                        new[place] = _value(f, value, self.copied.client)
                self.batch.tuples[model].append(new)

    def _moved(self, f: Any, kind: str, value: Any) -> Any:
        """Return a key, a day or a moment as it is in the copy."""
        if kind == "key":
            return self.keys.get((f.related_model or f.model, value), value)
        if kind == "day":
            return _value(f, value + dt.timedelta(days=self.span.days))
        return _value(f, value + self.span)

    def _changed(self, model: Model, row: Mapping[str, Any]) -> dict[str, Any]:
        """Return what of a row is otherwise in the copy than its keys and moments."""
        if model is ResultSeen:
            return seen(row["predicted"], self.batch.random) if row["predicted"] else {}
        if model is AuditEvent:
            return self._audited(row)
        return {}

    def _audited(self, row: Mapping[str, Any]) -> dict[str, Any]:
        target = self.batch.labels.get(row["target_type"])
        found = self.keys.get((target, int(row["target_id"]))) if target else None
        changed: dict[str, Any] = {"target_id": str(found or row["target_id"])}
        detail = dict(row["detail"])
        if "formula" in detail:
            detail["formula"] = self.keys[Formula, detail["formula"]]
        if "placed_at" in detail:
            placed = dt.datetime.fromisoformat(detail["placed_at"]) + self.span
            detail["placed_at"] = placed.isoformat()
        if self.link and row["kind"] in (verification.LINKED, "choice signed"):
            detail["number"] = self.link.number
        if self.link and row["kind"] == verification.LINKED:
            detail["digest"] = self.link.digest
        if row["actor_id"] == self.copied.told.stylist.pk:
            stylist = self.copied.stylist
            changed |= {"actor_id": stylist.pk, "actor_label": stylist.display_name}
        return changed | {"detail": detail}

    def _signed(self, row: Mapping[str, Any]) -> SignOff:
        """Return the choice signed again: the next link of the chain, by its own client."""
        batch, copied = self.batch, self.copied
        link = SignOff(**row)
        link.pk = self.keys[SignOff, row["id"]]
        link.visit = Visit(pk=self.keys[Visit, row["visit_id"]], client_id=copied.client.pk)
        link.choice_id = self._of("choice", row["choice_id"])
        link.witness_id = self._of("witness", row["witness_id"])
        link.signed_at += self.span
        link.signed_name = copied.client.name
        frozen = json.loads(row["snapshot"])
        frozen["visit"] = link.visit_id
        frozen["client"] = {"id": copied.client.pk, "name": copied.client.name}
        for answer in frozen["answers"]:
            answered = dt.datetime.fromisoformat(answer["at"]) + self.span
            answer["at"] = signing.moment(answered)
        frozen["signed"] |= {
            "name": link.signed_name,
            "at": signing.moment(link.signed_at),
            "witness_id": link.witness_id,
        }
        if link.witness_id == copied.stylist.pk:
            frozen["signed"]["witness"] = copied.stylist.display_name
        link.snapshot = signing.canonical_json(frozen)
        batch.number += 1
        link.number, link.previous_digest = batch.number, batch.digest
        signing.sign(link, batch.signer)
        batch.digest = link.digest
        return link

    def _of(self, name: str, value: Any) -> Any:
        f: Any = SignOff._meta.get_field(name)
        return self.keys.get((f.related_model, value), value)


def seen(predicted: Mapping[str, Any], random: Random) -> dict[str, Any]:
    """Return a result near its prediction, as an eye reads it: half levels, fives of percent."""
    level = round(2 * (predicted["level"]["value"] + random.gauss(0, 0.2))) / 2
    warmth = predicted["warmth_left_percent"]["value"] + random.gauss(3, 6)
    return {
        "level": Decimal(str(min(max(level, 1), 10))),
        "warmth_left_percent": int(min(max(5 * round(warmth / 5), -50), 150)),
        "evenness": random.choice(("even", "even", "even", "slight")),
        "client_word": random.choice(("pleased", "pleased", "fine")),
    }


def _fields(model: Model) -> tuple[Any, ...]:
    return tuple(model._meta.concrete_fields)


def _moving(model: Model) -> list[tuple[int, Any, str]]:
    """Return the fields that differ in every copy: keys, days and moments."""
    kinds = []
    for place, f in enumerate(_fields(model)):
        if f.primary_key or f.is_relation:
            kinds.append((place, f, "key"))
        elif isinstance(f, models.DateTimeField):
            kinds.append((place, f, "moment"))
        elif isinstance(f, models.DateField):
            kinds.append((place, f, "day"))
    return kinds


def _value(f: Any, value: Any, client: Client | None = None) -> Any:
    """Return a value as the database takes it; words closed by the keys of their client."""
    if isinstance(f, fields.SealedTextField):
        return str(f.closed_for(client.pk, value)) if client else None
    if isinstance(f, models.JSONField):
        return None if value is None else json.dumps(value, cls=f.encoder)
    return f.get_db_prep_save(value, connection)
