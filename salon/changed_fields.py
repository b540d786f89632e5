"""What a change changed, in the reader's words: fields of the record, from what to what."""

from typing import Any

from django.apps import apps
from django.core.exceptions import FieldDoesNotExist
from django.utils.translation import gettext as _


def in_words(target_type: str, changed: Any) -> list[str]:
    """Return one phrase for each field that an event says was changed.

    An event keeps codes, numbers and yes or no; of a name or an address it keeps only that it
    was changed.
    """
    if not isinstance(changed, dict):
        return []
    return [_phrase(target_type, str(name), values) for name, values in changed.items()]


def _phrase(target_type: str, name: str, values: Any) -> str:
    try:
        field: Any = apps.get_model(target_type)._meta.get_field(name)
        label, choices = str(field.verbose_name), dict(field.flatchoices)
    except (LookupError, ValueError, FieldDoesNotExist):
        label, choices = name.replace("_", " "), {}
    if not isinstance(values, list) or len(values) != 2:
        return label
    before, after = (_value(value, choices) for value in values)
    return _("%(field)s: %(before)s → %(after)s") % {
        "field": label,
        "before": before,
        "after": after,
    }


def _value(value: Any, choices: dict[Any, Any]) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if value in {None, ""}:
        return "–"
    return str(choices.get(value, value))
