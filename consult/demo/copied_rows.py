"""The rows of one copy: new keys, moments moved by one span, and its signature."""

import datetime as dt
import json
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal
from functools import cache
from random import Random
from typing import Any

from django.db import connection, models

from clients.models import Client
from clients.sealed.fields import SealedTextField
from consult.agreement import signing, verification
from consult.demo.habits import Off
from consult.demo.stories import Copy, Model, Row, Story
from consult.models import Formula, ResultSeen, SignOff, Visit
from salon import signing_keys
from salon.models import AuditEvent, Salon, Staff


class Chain:
    """The end of a salon's chain of sign-offs, that copies are added to."""

    def __init__(self, salon: Salon) -> None:
        self.signer = signing_keys.signer()
        last = SignOff.objects.filter(salon=salon).order_by("-number").first()
        self.number = last.number if last else 0
        self.digest = last.digest if last else signing.GENESIS

    def sign(self, link: SignOff) -> None:
        """Make a sign-off the next link."""
        self.number += 1
        link.number, link.previous_digest = self.number, self.digest
        signing.sign(link, self.signer)
        self.digest = link.digest


class Batch:
    """What the copies of one batch have in common, and their rows so far."""

    def __init__(self, salon: Salon, random: Random, labels: Mapping[str, Model]) -> None:
        self.chain, self.random, self.labels = Chain(salon), random, labels
        self.tuples: dict[Model, list[list[Any]]] = defaultdict(list)
        self.prepared: dict[int, list[_Line]] = {}

    def lines_of(self, story: Story) -> list["_Line"]:
        """Return the rows of a story, worked out once for all of its copies."""
        if id(story) not in self.prepared:
            self.prepared[id(story)] = [
                _line(model, row) for model, rows in story.rows.items() for row in rows
            ]
        return self.prepared[id(story)]


@dataclass(frozen=True)
class _Line:
    """A row as the database takes it, and which of its values differ in every copy."""

    model: Model
    row: Row
    values: list[Any]
    keys: list[tuple[int, tuple[Model, Any]]]
    moments: list[tuple[int, dt.datetime]]
    days: list[tuple[int, dt.date]]
    sealed: list[tuple[int, Any, Any]]


def _line(model: Model, row: Row) -> _Line:
    line = _Line(model, row, [], [], [], [], [])
    for place, f in enumerate(_fields(model)):
        value = row[f.attname]
        if isinstance(f, SealedTextField):
            line.values.append(None)
            line.sealed.append((place, f, value))
            continue
        line.values.append(_value(f, value))
        if value is None:
            continue
        if f.primary_key or f.is_relation:
            line.keys.append((place, (f.related_model or model, value)))
        elif isinstance(f, models.DateTimeField):
            line.moments.append((place, value))
        elif isinstance(f, models.DateField):
            line.days.append((place, value))
    return line


class Copying:
    """One copy: which key each of its rows gets, and by how much its moments move."""

    def __init__(
        self, batch: Batch, copied: Copy, keys: Mapping[tuple[Model, int], int]
    ) -> None:
        self.batch, self.copied = batch, copied
        story = copied.story
        self.span = copied.starts_at - story.starts_at
        self.keys: dict[tuple[Model, Any], Any] = {
            **keys,
            (Client, story.client.pk): copied.client.pk,
            (Staff, story.stylist.pk): copied.stylist.pk,
        }
        self.link: SignOff | None = None

    def write(self) -> None:
        """Add its rows to the batch; the signature first, since the audit names it."""
        story, tuples = self.copied.story, self.batch.tuples
        for row in story.rows.get(SignOff, ()):
            self.link = link = self._signed(row)
            tuples[SignOff].append(
                [self._value(f, getattr(link, f.attname)) for f in _fields(SignOff)]
            )
        moved: dict[dt.datetime, Any] = {}  # most rows of a copy share a few moments
        for line in self.batch.lines_of(story):
            if line.model is not SignOff:
                tuples[line.model].append(self._moved(line, moved))

    def _moved(self, line: _Line, moved: dict[dt.datetime, Any]) -> list[Any]:
        """Return a row's values in this copy; `moved` keeps moments worked out before."""
        adapt_moment = connection.ops.adapt_datetimefield_value
        adapt_day = connection.ops.adapt_datefield_value
        new = list(line.values)
        for place, key in line.keys:
            new[place] = self.keys.get(key, key[1])
        for place, moment in line.moments:
            if moment not in moved:
                moved[moment] = adapt_moment(moment + self.span)
            new[place] = moved[moment]
        for place, day in line.days:
            new[place] = adapt_day(day + dt.timedelta(days=self.span.days))
        for place, sealed, value in line.sealed:
            new[place] = self._value(sealed, value)
        for name, value in self._changed(line.model, line.row).items():
            place, f = _place(line.model, name)
            new[place] = self._value(f, value)
        return new

    def _value(self, f: Any, value: Any) -> Any:
        """Return a value as the database takes it; words closed by the keys of their client."""
        if isinstance(f, SealedTextField):
            closed = f.closed_for(self.copied.client.pk, value)
            return None if closed is None else str(closed)
        return _value(f, value)

    def _changed(self, model: Model, row: Row) -> Row:
        """Return what of a row is otherwise in the copy than its keys and moments."""
        if model is ResultSeen:
            predicted, off = row["predicted"], self.copied.off
            if not predicted:
                return {}
            return asdict(seen(predicted, self.batch.random, off))
        if model is AuditEvent:
            return self._audited(row)
        return {}

    def _audited(self, row: Row) -> Row:
        target = self.batch.labels.get(row["target_type"])
        found = self.keys.get((target, int(row["target_id"]))) if target else None
        changed: dict[str, object] = {"target_id": str(found or row["target_id"])}
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
        if row["actor_id"] == self.copied.story.stylist.pk:
            stylist = self.copied.stylist
            changed |= {"actor_id": stylist.pk, "actor_label": stylist.display_name}
        return changed | {"detail": detail}

    def _signed(self, row: Row) -> SignOff:
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
        batch.chain.sign(link)
        return link

    def _of(self, name: str, value: Any) -> Any:
        f: Any = SignOff._meta.get_field(name)
        return self.keys.get((f.related_model, value), value)


@dataclass(frozen=True)
class Seen:
    """A result as an eye reads it."""

    level: Decimal
    warmth_left_percent: int
    evenness: str
    client_word: str


def seen(predicted: Mapping[str, Any], random: Random, off: Off) -> Seen:
    """Return a result near its prediction, as an eye reads it: half levels, fives of percent."""
    level = round(2 * (predicted["level"]["value"] + random.gauss(off.levels, 0.2))) / 2
    warmth = predicted["warmth_left_percent"]["value"]
    warmth += random.gauss(off.warmth_percent, 6)
    return Seen(
        level=Decimal(str(min(max(level, 1), 10))),
        warmth_left_percent=int(min(max(5 * round(warmth / 5), -50), 150)),
        evenness=random.choice(("even", "even", "even", "slight")),
        client_word=random.choice(("pleased", "pleased", "fine")),
    )


@cache
def _fields(model: Model) -> tuple[Any, ...]:
    return tuple(model._meta.concrete_fields)


@cache
def _place(model: Model, attname: str) -> tuple[int, Any]:
    return next((n, f) for n, f in enumerate(_fields(model)) if f.attname == attname)


def _value(f: Any, value: Any) -> Any:
    """Return a value as the database takes it; JSON as text on both."""
    if isinstance(f, models.JSONField):
        return None if value is None else json.dumps(value, cls=f.encoder)
    return f.get_db_prep_save(value, connection)
