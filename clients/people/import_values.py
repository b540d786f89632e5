"""The values of one row: read, or set aside as they are written."""

import datetime as dt
import re
from dataclasses import dataclass

import phonenumbers
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from clients.models import ValueProblem
from clients.people import import_dates

# What is written beside a number without telling anything: "Tel. 0117 496 0101".
_LABELS = re.compile(
    r"[\W_]*(tel|telefon|phone|fon|mob|mobil|mobile|handy)?[\W_]*", re.IGNORECASE
)
_MOST = {"name": 120, "known_as": 60, "note": 300}


@dataclass(frozen=True)
class SetAside:
    """A value that could not be taken as it is written."""

    field: str
    text: str
    problem: str


def phone(text: str, *, region: str = "") -> tuple[str, str]:
    """Return the first valid number in `text`, and the problem with the rest, if any.

    A number without a country is one of `region`, the installation's own where it is empty.
    """
    region = region or settings.PHONENUMBER_DEFAULT_REGION
    if not re.search(r"[^\W\d_]", text):
        try:
            whole = phonenumbers.parse(text, region)
            if phonenumbers.is_valid_number(whole):
                return _e164(whole), ""
        except phonenumbers.NumberParseException:
            pass
    found = next(iter(phonenumbers.PhoneNumberMatcher(text, region)), None)
    if found is None:
        return "", ValueProblem.NOT_VALID
    rest = text[: found.start] + "\n" + text[found.end :]
    bare = all(_LABELS.fullmatch(part) for part in rest.split("\n")) and not (
        found.number.extension
    )
    return _e164(found.number), "" if bare else ValueProblem.HOLDS_MORE


def _e164(number: phonenumbers.PhoneNumber) -> str:
    return str(phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164))


def email(text: str) -> tuple[str, str]:
    """Return the first address in `text`, and the problem with the rest, if any."""
    parts = re.split(r"[,;\s]+", text.removeprefix("mailto:").strip(",; "))
    found = next(filter(_is_email, parts), "")
    if not found:
        return "", ValueProblem.NOT_VALID
    return found, "" if len(parts) == 1 else ValueProblem.HOLDS_MORE


def _is_email(word: str) -> bool:
    try:
        validate_email(word)
    except ValidationError:
        return False
    return len(word) <= 254


def birth_date(text: str, *, order: str, today: dt.date) -> tuple[dt.date | None, str]:
    """Return the date, or its problem."""
    try:
        return import_dates.read(text, order=order, today=today), ""
    except import_dates.TwoCenturies:
        return None, ValueProblem.WHICH_CENTURY
    except import_dates.NotADate:
        return None, ValueProblem.NOT_VALID


def shortened(field: str, text: str) -> tuple[str, str]:
    """Return what fits the field, and the problem where that is not all of it."""
    most = _MOST[field]
    return (text, "") if len(text) <= most else (text[:most].rstrip(), ValueProblem.TOO_LONG)
