"""Forms about what the salon offers: services, chairs and the week's hours."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import Chair, Service, Weekday
from clients.models.diary import SLOT_MINUTES
from salon.models import Salon
from salon.widgets import Stepper, TimeInput

_FIVE = {"min": "0", "max": "480", "step": "5"}


def _fresh_name(form: forms.ModelForm, salon: Salon) -> str:
    """Return the name that was typed; refuse one that the salon has already."""
    name: str = form.cleaned_data["name"].strip()
    same = type(form.instance)._default_manager.filter(salon=salon, name=name)
    if same.exclude(pk=form.instance.pk).exists():
        raise forms.ValidationError(_("This name is already in use."))
    return name


class NewServiceForm(forms.ModelForm):
    """What is booked, and how long each part takes."""

    class Meta:
        model = Service
        fields = [
            "name",
            "application_minutes",
            "processing_minutes",
            "finish_minutes",
            "is_colour",
            "no_test_reason",
            "is_patch_test",
        ]
        widgets = {
            "application_minutes": Stepper({**_FIVE, "min": "5"}, unit=gettext_lazy("min")),
            "processing_minutes": Stepper({**_FIVE, "max": "240"}, unit=gettext_lazy("min")),
            "finish_minutes": Stepper({**_FIVE, "max": "240"}, unit=gettext_lazy("min")),
        }
        help_texts = {
            "processing_minutes": gettext_lazy(
                "The stylist is free for someone else while colour develops."
            ),
            "is_colour": gettext_lazy(
                "Tick this for every service that puts colour on hair. Nobody is checked "
                "in for it without a valid patch test."
            ),
            "no_test_reason": gettext_lazy(
                "Only for a service that has processing time but puts no colour on hair."
            ),
            "is_patch_test": gettext_lazy("A short visit to place or read a patch test."),
        }

    def __init__(self, *args: Any, salon: Salon, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.salon = salon

    def clean_name(self) -> str:
        return _fresh_name(self, self.salon)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for name in ("application_minutes", "processing_minutes", "finish_minutes"):
            if (cleaned.get(name) or 0) % SLOT_MINUTES:
                self.add_error(name, _("Use steps of five minutes."))
        if cleaned.get("application_minutes") == 0:
            self.add_error("application_minutes", _("At least five minutes."))
        silent = not (cleaned.get("is_colour") or cleaned.get("is_patch_test"))
        if silent and cleaned.get("processing_minutes") and not cleaned.get("no_test_reason"):
            self.add_error(
                "no_test_reason",
                _(
                    "This service has processing time, as colour does. Say why it needs no "
                    "patch test."
                ),
            )
        if cleaned.get("is_colour") and cleaned.get("is_patch_test"):
            self.add_error("is_patch_test", _("A patch-test visit puts no colour on hair."))
        return cleaned


class ServiceForm(NewServiceForm):
    """A service as it is changed."""

    class Meta(NewServiceForm.Meta):
        fields = [*NewServiceForm.Meta.fields, "is_active"]


class NewChairForm(forms.ModelForm):
    """A place to sit."""

    class Meta:
        model = Chair
        fields = ["name"]

    def __init__(self, *args: Any, salon: Salon, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.salon = salon

    def clean_name(self) -> str:
        return _fresh_name(self, self.salon)


class ChairForm(NewChairForm):
    """A chair as it is changed."""

    class Meta(NewChairForm.Meta):
        fields = ["name", "is_active"]


@dataclass(frozen=True)
class DayRow:
    """A weekday with its fields."""

    name: object
    is_open: forms.BoundField
    opens_at: forms.BoundField
    closes_at: forms.BoundField


class WeekForm(forms.Form):
    """The hours of all seven weekdays at once."""

    def __init__(self, *args: Any, week: list[Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: dict[str, forms.Field] = self.fields
        for row in week:
            day, name = row.weekday, Weekday(row.weekday).label
            fields[f"open-{day}"] = forms.BooleanField(
                label=_("%(day)s, open") % {"day": name}, required=False, initial=row.is_open
            )
            for part, value, label in (
                ("from", row.opens_at, _("%(day)s, from")),
                ("to", row.closes_at, _("%(day)s, to")),
            ):
                fields[f"{part}-{day}"] = forms.TimeField(
                    label=label % {"day": name}, widget=TimeInput(), initial=value
                )

    @property
    def rows(self) -> list[DayRow]:
        """The weekdays with their three fields each."""
        return [
            DayRow(
                name=day.label,
                is_open=self[f"open-{day.value}"],
                opens_at=self[f"from-{day.value}"],
                closes_at=self[f"to-{day.value}"],
            )
            for day in Weekday
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for day in Weekday.values:
            opens, closes = cleaned.get(f"from-{day}"), cleaned.get(f"to-{day}")
            if opens and closes and opens >= closes:
                self.add_error(f"to-{day}", _("Closing must be later than opening."))
        if not any(cleaned.get(f"open-{day}") for day in Weekday.values):
            self.add_error(None, _("Open on at least one day."))
        return cleaned

    def hours(self) -> list[tuple[int, bool, dt.time, dt.time]]:
        """Return weekday, open, from and to of each day."""
        data = self.cleaned_data
        return [
            (day, data[f"open-{day}"], data[f"from-{day}"], data[f"to-{day}"])
            for day in Weekday.values
        ]
