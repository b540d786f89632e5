"""What the hair shows, and when the client comes again."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from clients.diary.free_time import Slot
from consult.models import ClientWord, Evenness, Seen
from consult.services.visits import NextSlot
from consult.zones import GROUPS
from salon.numbers import Number, WholeNumber
from salon.widgets import DateInput, Segments, Stepper


class CheckForm(forms.Form):
    """One look at a processing bowl, told with one tap."""

    seen = forms.ChoiceField(choices=Seen.choices)
    mark_minutes = WholeNumber(required=False, min_value=1, max_value=90)
    zones_key = forms.ChoiceField(choices=[("", ""), *((k, k) for k in GROUPS)], required=False)


class ResultForm(forms.Form):
    """What one group of zones shows, dry."""

    zones = forms.ChoiceField(choices=[(k, k) for k in GROUPS], widget=forms.HiddenInput())
    level = Number(
        label=_("Level, dry"),
        min_value=Decimal(1),
        max_value=Decimal(10),
        step_size=Decimal("0.5"),
        widget=Stepper({"step": "0.5"}),
    )
    warmth_left_percent = WholeNumber(
        label=_("Warmth left"),
        min_value=-50,
        max_value=150,
        widget=Stepper({"step": "5"}, unit="%"),
        help_text=_("100 is the warmth before toning, 0 natural hair, below 0 ash."),
    )
    evenness = forms.ChoiceField(
        label=_("Evenness"), choices=Evenness.choices, initial="even", widget=Segments()
    )
    client_word = forms.ChoiceField(
        label=_("The client's word"),
        choices=ClientWord.choices,
        required=False,
        widget=Segments(),
    )
    note = forms.CharField(
        label=_("Note"), required=False, max_length=400, widget=forms.Textarea({"rows": 2})
    )


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
        choices: list[tuple[str, Any]] = [("", _("Hold none: the date is only noted"))]
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
