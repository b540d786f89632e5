"""The form that puts a client on the waiting list."""

import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import Service
from clients.selectors import lines_in_use, services_offered
from formulas.models import ProductLine
from salon.models import Salon, Staff
from salon.selectors import columns
from salon.widgets import DateInput


class WaitingForm(forms.Form):
    """What a client waits for, and until when."""

    service = forms.ModelChoiceField(
        label=gettext_lazy("Service"), queryset=Service.objects.none(), empty_label=None
    )
    line = forms.ModelChoiceField(
        label=gettext_lazy("Product line"),
        queryset=ProductLine.objects.none(),
        required=False,
        empty_label=gettext_lazy("none (no colour)"),
    )
    stylist = forms.ModelChoiceField(
        label=gettext_lazy("Only with"),
        queryset=Staff.objects.none(),
        required=False,
        empty_label=gettext_lazy("anyone"),
    )
    from_date = forms.DateField(label=gettext_lazy("From"), widget=DateInput())
    until_date = forms.DateField(label=gettext_lazy("Until"), widget=DateInput())
    note = forms.CharField(
        label=gettext_lazy("Note"),
        max_length=200,
        required=False,
        widget=forms.TextInput({"dir": "auto"}),
    )

    def __init__(self, *args: Any, salon: Salon, today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        fields: dict[str, Any] = self.fields
        fields["service"].queryset = services_offered(salon=salon)
        fields["line"].queryset = lines_in_use(salon=salon)
        fields["stylist"].queryset = columns(salon=salon)
        fields["from_date"].initial = today
        fields["until_date"].initial = today + dt.timedelta(weeks=2)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first, last = cleaned.get("from_date"), cleaned.get("until_date")
        if first and last and last < first:
            self.add_error("until_date", _("This is before the first day."))
        elif last and last < self.today:
            self.add_error("until_date", _("This date has passed."))
        service = cleaned.get("service")
        if service and service.is_colour and not cleaned.get("line"):
            self.add_error("line", _("Choose the line. A patch test counts for one line."))
        return cleaned
