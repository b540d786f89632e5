import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext_lazy

from clients.diary.opening import instant, is_skipped
from clients.models import Chair, Service
from clients.selectors import chairs_in_use, lines_in_use, services_offered
from formulas.models import ProductLine
from salon.models import Salon, Staff
from salon.selectors import columns
from salon.widgets import DateInput, TimeInput

_WEEKS = (2, 3, 4, 5, 6, 7, 8, 10, 12)


class WhenForm(forms.Form):
    """A stylist, a day and a time on the salon's clocks."""

    stylist = forms.ModelChoiceField(
        label=gettext_lazy("Stylist"), queryset=Staff.objects.none(), empty_label=None
    )
    day = forms.DateField(label=gettext_lazy("Day"), widget=DateInput())
    time = forms.TimeField(label=gettext_lazy("Time"), widget=TimeInput())

    def __init__(self, *args: Any, salon: Salon, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.salon = salon
        fields: dict[str, Any] = self.fields
        fields["stylist"].queryset = columns(salon=salon)

    def clean_day(self) -> dt.date:
        """Refuse years that no diary reaches."""
        day: dt.date = self.cleaned_data["day"]
        if not 2000 <= day.year <= 2100:
            raise forms.ValidationError(_("Check the year."))
        return day

    def clean(self) -> dict[str, Any]:
        """Put day and time together; a time that the clocks skip is refused."""
        cleaned = super().clean() or {}
        day, time = cleaned.get("day"), cleaned.get("time")
        if day and time:
            if is_skipped(day, time, self.salon.zone):
                self.add_error("time", _("The clocks skip this time on that day."))
            cleaned["starts_at"] = instant(day, time, self.salon.zone)
        return cleaned


class BookingForm(WhenForm):
    """What is booked, with whom and when; once, or again every few weeks."""

    service = forms.ModelChoiceField(
        label=gettext_lazy("Service"), queryset=Service.objects.none(), empty_label=None
    )
    line = forms.ModelChoiceField(
        label=gettext_lazy("Product line"),
        queryset=ProductLine.objects.none(),
        required=False,
        empty_label=gettext_lazy("none, no colour"),
        help_text=gettext_lazy("For colour: the patch test is for one line."),
    )
    chair = forms.ModelChoiceField(
        label=gettext_lazy("Chair"),
        queryset=Chair.objects.none(),
        required=False,
        empty_label=gettext_lazy("any"),
    )
    note = forms.CharField(
        label=gettext_lazy("Note"),
        max_length=300,
        required=False,
        widget=forms.TextInput({"dir": "auto"}),
    )
    every_weeks = forms.TypedChoiceField(
        label=gettext_lazy("Repeat"),
        required=False,
        coerce=int,
        empty_value=None,
        choices=[
            ("", gettext_lazy("once")),
            *(
                (n, ngettext_lazy("every week", "every %(n)d weeks", n) % {"n": n})
                for n in _WEEKS
            ),
        ],
    )
    count = forms.IntegerField(
        label=gettext_lazy("How many times"),
        required=False,
        min_value=2,
        max_value=12,
        initial=4,
    )
    is_walk_in = forms.BooleanField(required=False, widget=forms.HiddenInput)

    field_order = (
        "service", "line", "stylist", "day", "time", "chair", "note", "every_weeks", "count",
    )  # fmt: skip

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
        if cleaned.get("every_weeks") and not cleaned.get("count"):
            cleaned["count"] = 4
        return cleaned

    def wanted(self) -> dict[str, Any] | None:
        """Return what the form asks for so far, to look for free times near it."""
        if self.is_bound:
            found: dict[str, Any] = {
                k: self.cleaned_data.get(k) for k in ("service", "stylist")
            }
            day, time = self.cleaned_data.get("day"), self.cleaned_data.get("time")
        else:
            stylist = self.initial.get("stylist")
            found = {
                "service": self.initial.get("service"),
                "stylist": columns(salon=self.salon).filter(pk=stylist).first()
                if stylist
                else None,
            }
            day, time = self.initial.get("day"), self.initial.get("time")
        if not found["service"] or not day:
            return None
        clock = time or self.salon.opens_at
        return {**found, "wanted_at": instant(day, clock, self.salon.zone)}


class MoveForm(WhenForm):
    """Where an appointment moves to."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)


class CancelForm(forms.Form):
    """Why an appointment ends before it began."""

    did_not_come = forms.BooleanField(
        label=gettext_lazy("The client did not come"), required=False
    )
    reason = forms.CharField(label=gettext_lazy("Reason"), max_length=200)


class UndoForm(forms.Form):
    """Why a check-in is taken back."""

    reason = forms.CharField(
        label=gettext_lazy("Why is the check-in taken back?"), max_length=200
    )


class OverrideForm(forms.Form):
    """The owner's reason, in writing; it is printed on the card."""

    reason = forms.CharField(
        label=gettext_lazy("Reason, in writing"),
        min_length=20,
        max_length=400,
        widget=forms.Textarea({"rows": 3}),
        help_text=gettext_lazy("It stands on the record and on the card with your name."),
    )
