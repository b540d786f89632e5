"""Fields whose words are encrypted in the database and are plain in Python.

A stored value is "sealed1:KEY:BASE64", KEY being the number of the client's key, so that a row
opens without asking whose it is. Where the key was destroyed it reads "erased". An empty value
stays empty, and constraints may ask for that; nothing else can be asked of it in a query.
"""

import base64
import json
from collections.abc import Sequence
from typing import Any

from django.core.exceptions import FieldError
from django.core.validators import MaxLengthValidator
from django.db import models
from django.utils.translation import pgettext

from clients.sealed import keys

PREFIX = "sealed1:"


class Sealed(str):
    """A value as the database keeps it."""


class Erased(str):
    """The placeholder for words whose key was destroyed."""


class SealedTextField(models.TextField):  # type: ignore[type-arg]
    """Words about a client; `of` leads from the row to the client ("visit.client").

    With `is_kept` they stay readable to owners while a claim may come, else they go as soon as
    the client asks.
    """

    def __init__(self, *args: Any, of: str = "", is_kept: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.of, self.is_kept = of, is_kept
        if self.max_length is not None:
            self.validators.append(MaxLengthValidator(self.max_length))

    def deconstruct(self) -> Any:
        name, path, args, kwargs = super().deconstruct()
        return name, path, args, {**kwargs, "of": self.of, "is_kept": self.is_kept}

    @property
    def label(self) -> str:
        """What is closed here: a value moved elsewhere does not open."""
        return f"{self.model._meta.label_lower}.{self.name}"

    def formfield(self, **kwargs: Any) -> Any:  # type: ignore[override]
        return models.Field.formfield(self, **{"max_length": self.max_length, **kwargs})

    def pre_save(self, model_instance: models.Model, add: bool) -> Any:
        return self.closed(model_instance, getattr(model_instance, self.attname))

    def closed(self, row: models.Model, value: Any) -> Any:
        """Return a row's value as the database keeps it."""
        if self.is_nothing(value) or isinstance(value, Sealed):
            return value
        return self.closed_for(self.client_id_of(row), value)

    def closed_for(self, client_id: int, value: Any) -> Any:
        """Return a value of a client as the database keeps it."""
        if self.is_nothing(value) or isinstance(value, Sealed):
            return value
        number, content = keys.close(
            self.to_text(value).encode(),
            client_id=client_id,
            purpose=keys.Purpose.KEPT if self.is_kept else keys.Purpose.ORDINARY,
            label=self.label,
        )
        return Sealed(f"{PREFIX}{number}:{base64.b64encode(content).decode()}")

    def client_id_of(self, row: models.Model) -> int:
        """Return whose a row is."""
        *steps, last = self.of.split(".")
        found: Any = row
        for step in steps:
            found = getattr(found, step)
        client_id: int = getattr(found, f"{last}_id")
        return client_id

    def from_db_value(self, value: Any, expression: Any, connection: Any) -> Any:
        if value is None or not value.startswith(PREFIX):
            return value if value is None else self.to_value(value)
        number, _colon, content = value.removeprefix(PREFIX).partition(":")
        opened = keys.open_again(
            base64.b64decode(content), number=int(number), label=self.label
        )
        return self.erased() if opened is None else self.to_value(opened.decode())

    def get_lookup(self, lookup_name: str) -> Any:
        if lookup_name not in {"exact", "isnull"}:
            raise FieldError(f"{self.label} is encrypted: no query can look into it.")
        return super().get_lookup(lookup_name)

    def get_prep_value(self, value: Any) -> Any:
        """Refuse a plain value, in a query as in an update: only `closed` ones are stored."""
        if value is None or value == "":
            return value
        if not isinstance(value, Sealed):
            raise FieldError(f"{self.label} is encrypted: save the row instead.")
        return str(value)

    def is_nothing(self, value: Any) -> bool:
        """Return whether there is nothing to close."""
        return value is None or value == ""

    def to_text(self, value: Any) -> str:
        """Return a value as text."""
        return str(value)

    def to_value(self, text: str) -> Any:
        """Return a text as a value."""
        return text

    def erased(self) -> Any:
        """Return the placeholder for a value that nobody can read any more."""
        return Erased(pgettext("words of a client that were deleted for good", "erased"))


class SealedJSONField(SealedTextField):
    """The same for plain data."""

    def is_nothing(self, value: Any) -> bool:
        return value is None

    def to_text(self, value: Any) -> str:
        return json.dumps(value, ensure_ascii=False)

    def to_value(self, text: str) -> Any:
        return json.loads(text) if text else {}

    def to_python(self, value: Any) -> Any:
        return value

    def erased(self) -> Any:
        return {}


def sealed_fields(model: type[models.Model]) -> Sequence[SealedTextField]:
    """Return the encrypted fields of a model."""
    return [
        field for field in model._meta.concrete_fields if isinstance(field, SealedTextField)
    ]


def close_rows(model: type[models.Model]) -> int:
    """Encrypt what earlier releases stored plain; return in how many rows.

    For a migration, which takes the guards of the table away before.
    """
    fields, count = sealed_fields(model), 0
    rows = model._base_manager.all()
    with keys.at_hand():
        for row in rows.iterator(chunk_size=500):
            values = {
                field.attname: field.closed(row, getattr(row, field.attname))
                for field in fields
            }
            models.QuerySet(model, using=rows.db).filter(pk=row.pk).update(**values)
            count += 1
    return count
