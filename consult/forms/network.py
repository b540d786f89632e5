"""What the scripts of a visit's pages send: a draft, and a sign of life."""

import json
from typing import Any

from django import forms
from django.utils.translation import gettext as _

MOST_CHARACTERS = 20_000
MOST_FIELDS = 400
LONGEST_NAME = 80
# Never kept: a key of its own, the protection against forgery, secrets, and what makes a
# signature, which is only ever given to the statement that was read at that moment.
NEVER_KEPT = frozenset(
    {
        "csrfmiddlewaretoken",
        "once",
        "version",
        "password",
        "pin",
        "signature_strokes",
        "signature_png",
        "has_understood",
    }
)


def _can_be_kept(text: str) -> bool:
    """Whether a database keeps it: no NUL, no half of a sign (JSON can spell both)."""
    return not any(
        character == "\x00" or "\ud800" <= character <= "\udfff" for character in text
    )


class PairsField(forms.CharField):
    """Names and values of a form in their order, as JSON."""

    def __init__(self) -> None:
        super().__init__(max_length=MOST_CHARACTERS, strip=False)

    def clean(self, value: Any) -> list[tuple[str, str]]:
        try:
            pairs = json.loads(super().clean(value))
        except (ValueError, RecursionError):
            raise forms.ValidationError(_("This draft cannot be read.")) from None
        if not isinstance(pairs, list) or len(pairs) > MOST_FIELDS:
            raise forms.ValidationError(_("This draft cannot be read."))
        for pair in pairs:
            if not (
                isinstance(pair, list)
                and len(pair) == 2
                and all(isinstance(part, str) and _can_be_kept(part) for part in pair)
                and 0 < len(pair[0]) <= LONGEST_NAME
            ):
                raise forms.ValidationError(_("This draft cannot be read."))
        return [(name, text) for name, text in pairs if name not in NEVER_KEPT]


class DraftForm(forms.Form):
    """What was typed into one form of a step, and the version that it was opened at."""

    step = forms.SlugField(max_length=20)
    part = forms.CharField(max_length=60, required=False)
    version = forms.IntegerField(min_value=0, max_value=2**31 - 1)
    fields_ = PairsField()

    def add_prefix(self, field_name: str) -> str:
        """`fields` is taken on a form, so the field has another name than what is posted."""
        return super().add_prefix(field_name.rstrip("_"))


class DropForm(forms.Form):
    """Which draft is not wanted."""

    step = forms.SlugField(max_length=20)
    part = forms.CharField(max_length=60, required=False)


class HereForm(forms.Form):
    """Who sits where; at the first sign of life also: what is kept of this step."""

    step = forms.SlugField(max_length=20)
    seat = forms.SlugField(max_length=40)
    version = forms.IntegerField(min_value=0, max_value=2**31 - 1)
    first = forms.BooleanField(required=False)
    sent = forms.CharField(max_length=40, required=False)
