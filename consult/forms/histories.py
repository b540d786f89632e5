"""The form that chooses which results the owner's pages show."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import Service
from consult.history.question import Question
from consult.zones import Zone
from formulas.models import ProductLine
from salon.models import Salon, Staff
from salon.widgets import DateInput

USUAL_DAYS = 90
MOST_DAYS = 3 * 366


class PeriodForm(forms.Form):
    """Which results the owner asks about; everything can stay empty."""

    first = forms.DateField(label=gettext_lazy("From"), widget=DateInput(), required=False)
    last = forms.DateField(label=gettext_lazy("To"), widget=DateInput(), required=False)
    stylist = forms.ModelChoiceField(
        label=gettext_lazy("Stylist"), queryset=Staff.objects.none(), required=False,
        empty_label=gettext_lazy("everyone"),
    )  # fmt: skip
    line = forms.ModelChoiceField(
        label=gettext_lazy("Line"), queryset=ProductLine.objects.none(), required=False,
        empty_label=gettext_lazy("every line"),
    )  # fmt: skip
    zone = forms.ChoiceField(
        label=gettext_lazy("Part of the hair"), required=False,
        choices=[("", gettext_lazy("all of the hair")), *Zone.choices],
    )  # fmt: skip

    service = forms.ModelChoiceField(
        label=gettext_lazy("Service"), queryset=Service.objects.none(), required=False,
        empty_label=gettext_lazy("every service"),
    )  # fmt: skip
    level = forms.TypedChoiceField(
        label=gettext_lazy("Predicted level"), required=False, coerce=int, empty_value=None,
        choices=[("", gettext_lazy("every level")), *((n, str(n)) for n in range(1, 11))],
    )  # fmt: skip

    def __init__(self, *args: Any, salon: Salon, today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        team = Staff.objects.filter(salon=salon, has_column=True).order_by("display_name")
        self.fields["stylist"].queryset = team  # type: ignore[attr-defined]
        lines = ProductLine.objects.filter(salon=salon)
        self.fields["line"].queryset = lines  # type: ignore[attr-defined]
        services = Service.objects.filter(salon=salon, is_colour=True).order_by("name")
        self.fields["service"].queryset = services  # type: ignore[attr-defined]
        stylist: Any = self.fields["stylist"]
        stylist.label_from_instance = lambda person: person.display_name

    def clean(self) -> dict[str, Any]:
        """Refuse a time that ends before it begins, or one too long to read."""
        cleaned = super().clean() or {}
        first, last = self.period(cleaned)
        if first > last:
            self.add_error("first", _("This is after the last day. Choose an earlier one."))
        elif (last - first).days > MOST_DAYS:
            self.add_error("first", _("Three years at most."))
        return cleaned

    def period(self, cleaned: dict[str, Any]) -> tuple[dt.date, dt.date]:
        """Return the first and the last day, the last ninety where nothing is chosen."""
        first, last = self.usual(cleaned.get("last") or self.today)
        return cleaned.get("first") or first, last

    @staticmethod
    def usual(last: dt.date) -> tuple[dt.date, dt.date]:
        """Return the ninety days up to one."""
        return last - dt.timedelta(days=USUAL_DAYS - 1), last


def read_question(
    data: Mapping[str, Any], *, salon: Salon, at: dt.datetime
) -> tuple[PeriodForm, Question]:
    """Return the form and what it asks; the usual time where it asks nothing sensible."""
    today = at.astimezone(salon.zone).date()
    wanted = {name: data.get(name, "") for name in PeriodForm.base_fields}
    if not wanted["first"] and not wanted["last"]:
        first, last = PeriodForm.usual(today)
        wanted |= {"first": first.isoformat(), "last": last.isoformat()}
    form = PeriodForm(wanted, salon=salon, today=today)
    cleaned = form.cleaned_data if form.is_valid() else {}
    first, last = form.period(cleaned)
    return form, Question(
        salon,
        first,
        last,
        cleaned.get("stylist"),
        cleaned.get("line"),
        cleaned.get("zone", ""),
        cleaned.get("service"),
        cleaned.get("level"),
    )
