import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import AbsenceKind, OpeningHours
from salon.models import Salon, Staff
from salon.selectors import columns
from salon.widgets import DateInput, TimeInput


class AbsenceForm(forms.Form):
    """When a stylist takes no client: a break at a time of day, or whole days."""

    stylist = forms.ModelChoiceField(
        label=gettext_lazy("Stylist"), queryset=Staff.objects.none(), empty_label=None
    )
    kind = forms.ChoiceField(label=gettext_lazy("What"), choices=AbsenceKind.choices)
    first = forms.DateField(label=gettext_lazy("First day"), widget=DateInput())
    last = forms.DateField(label=gettext_lazy("Last day"), widget=DateInput(), required=False)
    start = forms.TimeField(
        label=gettext_lazy("From"),
        widget=TimeInput(),
        required=False,
        help_text=gettext_lazy("Leave both times empty for a whole day off."),
    )
    end = forms.TimeField(label=gettext_lazy("To"), widget=TimeInput(), required=False)
    weeks = forms.IntegerField(
        label=gettext_lazy("For how many weeks"), min_value=1, max_value=26, initial=1
    )

    def __init__(self, *args: Any, salon: Salon, today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        fields: dict[str, Any] = self.fields
        fields["stylist"].queryset = columns(salon=salon)
        fields["first"].initial = today

    def clean_first(self) -> dt.date:
        first: dt.date = self.cleaned_data["first"]
        if first < self.today:
            raise forms.ValidationError(_("This date has passed."))
        if first.year > 2100:
            raise forms.ValidationError(_("Check the year."))
        return first

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        cleaned["last"] = cleaned.get("last") or cleaned.get("first")
        return cleaned


class HoursForm(forms.ModelForm):
    """One weekday's hours."""

    class Meta:
        model = OpeningHours
        fields = ["weekday", "is_open", "opens_at", "closes_at"]
        widgets = {"opens_at": TimeInput(), "closes_at": TimeInput()}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        opens, closes = cleaned.get("opens_at"), cleaned.get("closes_at")
        if opens and closes and opens >= closes:
            self.add_error("closes_at", _("Closing must be later than opening."))
        return cleaned


class ClosedDayForm(forms.Form):
    """A date on which nobody works."""

    date = forms.DateField(label=gettext_lazy("Date"), widget=DateInput())
    reason = forms.CharField(label=gettext_lazy("Reason"), max_length=80, required=False)
