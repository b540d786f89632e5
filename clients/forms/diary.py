"""Forms that book, move, change, mark and cancel appointments."""

import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext_lazy

from clients.diary.opening import instant, is_skipped
from clients.models import Appointment, Chair, EventKind, Service
from clients.selectors import chairs_in_use, lines_in_use, services_offered
from formulas.models import ProductLine
from salon.models import Salon, Staff
from salon.numbers import Number, WholeNumber
from salon.selectors import columns
from salon.widgets import DateInput, TimeInput

MARKS = (EventKind.CONFIRMED, EventKind.LATE, EventKind.ARRIVED)
_FOLDED = (
    "chair", "note", "every_weeks", "count", "quoted_price", "deposit_amount", "deposit_note",
)  # fmt: skip
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
                self.add_error(
                    "time", _("The clocks go forward that night: this time does not exist.")
                )
            cleaned["starts_at"] = instant(day, time, self.salon.zone)
        return cleaned


class WhatForm(forms.Form):
    """What is booked: the service, its line, the chair, a note, what was quoted and paid."""

    service = forms.ModelChoiceField(
        label=gettext_lazy("Service"), queryset=Service.objects.none(), empty_label=None
    )
    line = forms.ModelChoiceField(
        label=gettext_lazy("Product line"),
        queryset=ProductLine.objects.none(),
        required=False,
        empty_label=gettext_lazy("none (no colour)"),
        help_text=gettext_lazy("For colour only. A patch test counts for one line."),
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
    quoted_price = Number(
        label=gettext_lazy("Price quoted"),
        required=False,
        min_value=0,
        max_digits=8,
        decimal_places=2,
        help_text=gettext_lazy("Printed on the card. Clients pay at your till."),
    )
    has_deposit = forms.BooleanField(label=gettext_lazy("Deposit paid"), required=False)
    deposit_amount = Number(
        label=gettext_lazy("Deposit, amount"),
        required=False,
        min_value=0,
        max_digits=8,
        decimal_places=2,
    )
    deposit_note = forms.CharField(
        label=gettext_lazy("Deposit, note"),
        max_length=80,
        required=False,
        widget=forms.TextInput({"dir": "auto"}),
    )
    is_together = forms.BooleanField(
        label=gettext_lazy("Two services, one visit"), required=False
    )

    offers_together = False  # set once the client would sit in two places at once

    def offer(self, salon: Salon, current: Appointment | None = None) -> None:
        """Fill the choices: what can be booked, and what this appointment already has."""
        fields: dict[str, Any] = self.fields
        offered = {
            "service": services_offered(salon=salon),
            "line": lines_in_use(salon=salon),
            "chair": chairs_in_use(salon=salon),
        }
        for name, rows in offered.items():
            chosen = getattr(current, f"{name}_id", None)
            model: Any = rows.model
            had = model.objects.filter(salon=salon, pk=chosen)
            fields[name].queryset = rows if chosen is None else rows | had

    def clean_what(self, cleaned: dict[str, Any]) -> dict[str, Any]:
        """Hold colour and its line together; an amount says that a deposit was paid."""
        service, line = cleaned.get("service"), cleaned.get("line")
        if service and service.is_colour and not line and "line" not in self.errors:
            self.add_error("line", _("Choose the line. A patch test counts for one line."))
        if cleaned.get("deposit_amount") is not None:
            cleaned["has_deposit"] = True
        return cleaned


class BookingForm(WhatForm, WhenForm):
    """What is booked, with whom and when; once, or again every few weeks."""

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
    # The two visits of the patch test; drawn by the page as the rest of the form changes.
    with_test = forms.BooleanField(required=False)
    place_at = forms.CharField(required=False, max_length=40)
    read_at = forms.CharField(required=False, max_length=40)

    field_order = (
        "service", "line", "stylist", "day", "time", "chair", "note", "every_weeks", "count",
    )  # fmt: skip

    def __init__(self, *args: Any, salon: Salon, **kwargs: Any) -> None:
        super().__init__(*args, salon=salon, **kwargs)
        self.offer(salon)

    @property
    def is_more_wrong(self) -> bool:
        """Whether something is wrong in the part that a page may fold away."""
        return any(self[name].errors for name in _FOLDED)

    def clean(self) -> dict[str, Any]:
        cleaned = self.clean_what(super().clean())
        if cleaned.get("every_weeks") and not cleaned.get("count"):
            cleaned["count"] = 4
        return cleaned


class MoveForm(WhenForm):
    """Where an appointment moves to."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    is_together = forms.BooleanField(
        label=gettext_lazy("Two services, one visit"), required=False
    )
    offers_together = False


class ChangeForm(WhatForm):
    """What a booked appointment becomes, at the time and with the stylist it has."""

    minutes = WholeNumber(
        label=gettext_lazy("Length, minutes"),
        required=False,
        min_value=5,
        max_value=720,
        help_text=gettext_lazy("Leave empty for the service's usual length."),
    )
    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, appointment: Appointment, **kwargs: Any) -> None:
        initial = {
            name: getattr(appointment, name)
            for name in (
                "note",
                "quoted_price",
                "has_deposit",
                "deposit_amount",
                "deposit_note",
            )
        } | {
            "service": appointment.service_id,
            "line": appointment.line_id,
            "chair": appointment.chair_id,
            "minutes": appointment.own_minutes,
            "version": appointment.version,
        }
        kwargs["initial"] = initial
        super().__init__(*args, **kwargs)
        self.offer(appointment.salon, appointment)

    def clean(self) -> dict[str, Any]:
        return self.clean_what(super().clean() or {})


class RestoreForm(forms.Form):
    """A cancellation to be undone; confirmed where the client sits somewhere else by now."""

    is_together = forms.BooleanField(required=False)


class MarkForm(forms.Form):
    """A mark of an appointment, set or removed."""

    kind = forms.ChoiceField(
        choices=[(kind.value, kind.label) for kind in MARKS],
    )
    on = forms.BooleanField(required=False)


class CancelForm(forms.Form):
    """Why an appointment ends before it began."""

    did_not_come = forms.BooleanField(label=gettext_lazy("No-show"), required=False)
    reason = forms.CharField(
        label=gettext_lazy("Reason"),
        max_length=200,
        required=False,
        help_text=gettext_lazy("Can stay empty for a no-show."),
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        missing = not cleaned.get("reason") and not cleaned.get("did_not_come")
        if missing and "reason" not in self.errors:
            self.add_error("reason", _("Say why the appointment is cancelled."))
        return cleaned


class UndoForm(forms.Form):
    """Why a check-in is taken back."""

    reason = forms.CharField(label=gettext_lazy("Why undo the check-in?"), max_length=200)


class OverrideForm(forms.Form):
    """The owner's reason, in writing; it is printed on the card."""

    reason = forms.CharField(
        label=gettext_lazy("Reason for the override"),
        min_length=20,
        max_length=400,
        widget=forms.Textarea({"rows": 3}),
        help_text=gettext_lazy("Kept on record and printed on the card, with your name."),
    )
