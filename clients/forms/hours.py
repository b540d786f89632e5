"""Forms about opening hours, closed days, public holidays and absences."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.diary.public_holidays import Holiday
from clients.models import AbsenceKind, OpeningHours
from salon.models import Salon, Staff
from salon.selectors import columns
from salon.widgets import DateInput, TimeInput

MOST_DAYS_CLOSED = 60


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
    """The days on which nobody works: one, or a first and a last."""

    date = forms.DateField(label=gettext_lazy("First day"), widget=DateInput())
    last = forms.DateField(label=gettext_lazy("Last day"), widget=DateInput(), required=False)
    reason = forms.CharField(label=gettext_lazy("Reason"), max_length=80, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        # Beside another form with a last day.
        super().__init__(*args, **{"auto_id": "id_closed_%s", **kwargs})

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first, last = cleaned.get("date"), cleaned.get("last")
        if first and last and last < first:
            self.add_error("last", _("The last day must not be before the first."))
        elif first and last and (last - first).days >= MOST_DAYS_CLOSED:
            self.add_error("last", _("At most 60 days at once."))
        return cleaned

    def days(self) -> dict[dt.date, str]:
        """Return each day with its reason."""
        first: dt.date = self.cleaned_data["date"]
        last: dt.date = self.cleaned_data["last"] or first
        count = (last - first).days + 1
        return {first + dt.timedelta(n): self.cleaned_data["reason"] for n in range(count)}


class HolidayYearForm(forms.Form):
    """Which year's public holidays are looked at, and of which area of the country."""

    year = forms.TypedChoiceField(label=gettext_lazy("Year"), coerce=int)
    area = forms.ChoiceField(
        label=gettext_lazy("Area"),
        required=False,
        help_text=gettext_lazy("As official lists abbreviate it, for example BY."),
    )

    def __init__(self, *args: Any, areas: Sequence[str], today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: dict[str, Any] = self.fields
        fields["year"].choices = [(y, str(y)) for y in range(today.year, today.year + 3)]
        fields["area"].choices = [("", _("the whole country")), *((a, a) for a in areas)]
        if not areas:
            del fields["area"]


class AreaForm(forms.Form):
    """Which area of the country the salon is in."""

    area = forms.ChoiceField(
        label=gettext_lazy("Area"),
        required=False,
        help_text=gettext_lazy("As official lists abbreviate it, for example BY."),
    )

    def __init__(self, *args: Any, areas: Sequence[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: dict[str, Any] = self.fields
        fields["area"].choices = [("", _("the whole country")), *((a, a) for a in areas)]


class YearlyHolidaysForm(forms.Form):
    """Which public holidays the salon is closed on each year; none is an answer, too."""

    names = forms.MultipleChoiceField(
        label=gettext_lazy("Closed every year on"),
        required=False,
        widget=forms.CheckboxSelectMultiple(),
    )

    def __init__(self, *args: Any, found: Sequence[Holiday], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: dict[str, Any] = self.fields
        fields["names"].choices = [
            (
                day.keys[0],
                _("%(name)s, next on %(date)s")
                % {"name": day.name, "date": date_format(day.date, _("D j M Y"))},
            )
            for day in found
        ]


class HolidaysForm(forms.Form):
    """Which of a year's public holidays the salon is closed on."""

    dates = forms.TypedMultipleChoiceField(
        label=gettext_lazy("Closed on"),
        coerce=dt.date.fromisoformat,
        widget=forms.CheckboxSelectMultiple(),
        error_messages={"required": gettext_lazy("Tick at least one day.")},
    )

    def __init__(self, *args: Any, found: Sequence[Holiday], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.names = {holiday.date: holiday.name for holiday in found}
        fields: dict[str, Any] = self.fields
        fields["dates"].choices = [
            (day.isoformat(), f"{date_format(day, _('D j M Y'))}: {name}")
            for day, name in self.names.items()
        ]
        fields["dates"].initial = [day.isoformat() for day in self.names]

    def days(self) -> dict[dt.date, str]:
        """Return each ticked day with its name."""
        return {day: self.names[day] for day in self.cleaned_data["dates"]}
