"""The filter of who looked at whose records."""

import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.models import AccessKind
from salon.models import Salon, Staff

# Nobody looks for other years, and the calendar's ends have no next day.
EARLIEST, LATEST = dt.date(2000, 1, 1), dt.date(2999, 12, 31)


class AccessFilterForm(forms.Form):
    """By person, client, kind and days; all may stay empty."""

    staff = forms.ModelChoiceField(
        label=_("Who"),
        queryset=Staff.objects.none(),
        required=False,
        empty_label=_("everybody"),
    )
    client = forms.CharField(label=_("Whose"), max_length=120, required=False)
    kind = forms.ChoiceField(label=_("What"), required=False)
    first = forms.DateField(
        label=_("From"), required=False, widget=forms.DateInput({"type": "date"})
    )
    last = forms.DateField(
        label=_("Until"), required=False, widget=forms.DateInput({"type": "date"})
    )

    def __init__(self, *args: Any, salon: Salon, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["staff"].queryset = Staff.objects.in_salon(salon)  # type: ignore[attr-defined]
        self.fields["kind"].choices = [  # type: ignore[attr-defined]
            ("", _("everything")),
            *AccessKind.choices,
        ]

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        for name in ("first", "last"):
            if data.get(name) and not EARLIEST <= data[name] <= LATEST:
                self.add_error(name, _("Enter a year between 2000 and 2999."))
        return data
