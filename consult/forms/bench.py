"""What the hair shows, and when the client comes again."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from clients.diary.free_time import Slot
from consult.models import RinseWhy, Seen
from consult.visit.next_slot import NextSlot
from consult.zones import GROUPS
from salon.numbers import Number, WholeNumber
from salon.widgets import DateInput


class CheckForm(forms.Form):
    """One look at a processing bowl, recorded with one tap."""

    seen = forms.ChoiceField(choices=Seen.choices)
    mark_minutes = WholeNumber(required=False, min_value=1, max_value=90)
    zones_key = forms.ChoiceField(choices=[("", ""), *((k, k) for k in GROUPS)], required=False)


class RinseReasonForm(forms.Form):
    """Why a bowl was rinsed early, recorded with one tap."""

    reason = forms.ChoiceField(choices=RinseWhy.choices)


class LeftoverForm(forms.Form):
    """What is left in a bowl, as the scale shows it."""

    grams = Number(label=_("Left in the bowl, g"), min_value=0, decimal_places=1, max_digits=5)


class SwapForm(forms.Form):
    """The mix that a press takes in place of a formula's own, as it was shown."""

    formula = forms.CharField(max_length=20, widget=forms.HiddenInput())
    parts = forms.CharField(max_length=200, widget=forms.HiddenInput())


class CloseForm(forms.Form):
    """When the client should come again."""

    next_visit_date = forms.DateField(label=_("Next visit"), required=False, widget=DateInput())
    next_slot = forms.ChoiceField(
        label=_("Hold a time"), required=False, widget=forms.RadioSelect()
    )

    def __init__(self, *args: Any, slots: Sequence[Slot] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.slots = {
            f"{slot.starts_at:%Y%m%dT%H%M%z}-{slot.stylist.pk}": slot for slot in slots
        }
        choices: list[tuple[str, Any]] = [("", _("No time: note the date only"))]
        choices += [(key, _slot_words(slot)) for key, slot in self.slots.items()]
        self.fields["next_slot"].choices = choices  # type: ignore[attr-defined]
        self.fields["next_slot"].error_messages["invalid_choice"] = _(
            "This time is no longer free. Choose another one."
        )

    def clean_next_slot(self) -> NextSlot | None:
        """Return the slot as the service takes it."""
        slot = self.slots.get(self.cleaned_data["next_slot"])
        return NextSlot(slot.starts_at, slot.stylist) if slot else None


def _slot_words(slot: Slot) -> str:
    when = timezone.localtime(slot.starts_at, slot.stylist.salon.zone)
    name = f"\u2068{slot.stylist.display_name}\u2069"
    return f"{date_format(when, 'D j M, H:i')}, {name}"


class StopForm(forms.Form):
    """Why a visit ends without colour."""

    reason = forms.CharField(label=_("Reason"), max_length=200)
