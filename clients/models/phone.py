"""A phone number as a column: how it is written is worked out once for each number."""

from functools import cached_property, lru_cache
from typing import Any

from django.conf import settings
from phonenumber_field.modelfields import PhoneNumberField
from phonenumber_field.phonenumber import PhoneNumber, to_python

_KEPT = 2_000  # numbers; a page shows hundreds, and the same are opened again


class StoredPhone(PhoneNumber):  # type: ignore[misc]  # the library has no types
    """A number as it is stored, which nobody changes: it may be shared by rows and pages."""

    def __str__(self) -> str:
        return self._text

    def is_valid(self) -> bool:
        return self._is_valid

    @cached_property
    def as_international(self) -> str:
        return str(super().as_international)

    @cached_property
    def as_rfc3966(self) -> str:
        return str(super().as_rfc3966)

    @cached_property
    def _text(self) -> str:
        return str(super().__str__())

    @cached_property
    def _is_valid(self) -> bool:
        return bool(super().is_valid())


class PhoneField(PhoneNumberField):  # type: ignore[misc]
    """A phone number; to read one costs hardly more than to read its text."""

    def from_db_value(self, value: Any, expression: Any, connection: Any) -> Any:
        return _stored(value, settings.PHONENUMBER_DEFAULT_REGION) if value else value

    def deconstruct(self) -> Any:
        # As a column it is the library's: migrations need not know this one.
        name, _path, args, kwargs = super().deconstruct()
        return name, "phonenumber_field.modelfields.PhoneNumberField", args, kwargs


@lru_cache(maxsize=_KEPT)
def _stored(text: str, region: str | None) -> PhoneNumber:
    read = to_python(text, region=region)
    stored = StoredPhone(raw_input=read.raw_input)
    stored.merge_from(read)
    return stored
