"""The form that chooses two visits to compare."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy

from consult.models import Visit


class TwoVisitsForm(forms.Form):
    """Which two of a client's visits to compare."""

    left = forms.TypedChoiceField(label=gettext_lazy("First visit"), coerce=int)
    right = forms.TypedChoiceField(label=gettext_lazy("Second visit"), coerce=int)

    def __init__(self, *args: Any, visits: Sequence[Visit], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [
            (visit.pk, date_format(visit.opened_at.astimezone(visit.salon.zone), "DATE_FORMAT"))
            for visit in visits
        ]
        for name in ("left", "right"):
            self.fields[name].choices = choices  # type: ignore[attr-defined]
