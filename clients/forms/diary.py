import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.selectors import chairs_in_use, lines_in_use, services_offered
from salon.models import Salon
from salon.selectors import columns
from salon.widgets import DateInput, TimeInput


class WhenForm(forms.Form):
    """A stylist, a day and a time on the salon's clocks."""

    stylist = forms.ModelChoiceField(
        label=gettext_lazy("Stylist"), queryset=None, empty_label=None
    )
    day = forms.DateField(label=gettext_lazy("Day"), widget=DateInput())
    time = forms.TimeField(label=gettext_lazy("Time"), widget=TimeInput())

    def __init__(self, *args: Any, salon: Salon, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.salon = salon
        self.fields["stylist"].queryset = columns(salon=salon)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Put day and time together; a time that the clocks skip is refused."""
        cleaned = super().clean() or {}
        day, time = cleaned.get("day"), cleaned.get("time")
        if day and time:
            start = dt.datetime.combine(day, time, tzinfo=self.salon.zone)
            there_and_back = start.astimezone(dt.UTC).astimezone(self.salon.zone)
            if there_and_back.replace(tzinfo=None) != start.replace(tzinfo=None):
                self.add_error("time", _("The clocks skip this time on that day."))
            cleaned["starts_at"] = start
        return cleaned


class BookingForm(WhenForm):
    """What is booked, with whom and when."""

    service = forms.ModelChoiceField(
        label=gettext_lazy("Service"), queryset=None, empty_label=None
    )
    line = forms.ModelChoiceField(
        label=gettext_lazy("Product line"),
        queryset=None,
        required=False,
        empty_label=gettext_lazy("none, no colour"),
        help_text=gettext_lazy("For colour: the patch test is for one line."),
    )
    chair = forms.ModelChoiceField(label=gettext_lazy("Chair"), queryset=None, required=False)
    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)

    field_order = ("service", "line", "stylist", "day", "time", "chair", "note")

    def __init__(self, *args: Any, salon: Salon, **kwargs: Any) -> None:
        super().__init__(*args, salon=salon, **kwargs)
        fields: dict[str, Any] = self.fields
        fields["service"].queryset = services_offered(salon=salon)
        fields["line"].queryset = lines_in_use(salon=salon)
        fields["chair"].queryset = chairs_in_use(salon=salon)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        service = cleaned.get("service")
        if service and service.is_colour and not cleaned.get("line"):
            self.add_error("line", _("Choose the line: the patch test is for one line."))
        return cleaned


class MoveForm(WhenForm):
    """Where an appointment moves to."""


class CancelForm(forms.Form):
    """Why an appointment ends before it began."""

    did_not_come = forms.BooleanField(
        label=gettext_lazy("The client did not come"), required=False
    )
    reason = forms.CharField(label=gettext_lazy("Reason"), max_length=200)


class OverrideForm(forms.Form):
    """The owner's reason, in writing; it is printed on the card."""

    reason = forms.CharField(
        label=gettext_lazy("Reason, in writing"),
        min_length=20,
        max_length=400,
        widget=forms.Textarea({"rows": 3}),
        help_text=gettext_lazy("It stands on the record and on the card with your name."),
    )
