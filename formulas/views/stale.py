"""The second of two people: what they typed stays, the next save is against what is now."""

from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from salon.numbers import plain_number


def reread(form: forms.BaseForm, current: forms.BaseForm) -> list[dict[str, str]]:
    """Return where the refused `form` differs from what is saved now, field by field.

    `standing` is the same form, unbound, of the record as it is now. The refused form then
    posts the current version, so that saving again is a decision made with open eyes.
    """
    form.data = {**form.data.dict(), "version": current["version"].value()}  # type: ignore[attr-defined]
    return [
        {"label": str(field.label), "yours": yours, "theirs": theirs}
        for field in form.visible_fields()
        if (yours := _shown(field)) != (theirs := _shown(current[field.name]))
    ]


def _shown(field: forms.BoundField) -> str:
    """Return a field's value as a reader sees it."""
    value: Any = field.value()
    choices = getattr(field.field, "choices", None)
    if choices:
        return str(dict(choices).get(value, value) if value is not None else "–")
    if isinstance(field.field, forms.BooleanField):
        return _("yes") if value in {True, "on", "True"} else _("no")
    if isinstance(field.field, forms.DecimalField):
        try:
            return number_format(f"{Decimal(plain_number(str(value))).normalize():f}")
        except InvalidOperation:
            return str(value or "–")
    return str(value) if value not in {None, ""} else "–"
