"""What the scale showed, and what the hair shows."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from clients.diary.free_time import Slot
from consult.models import ClientWord, Evenness, Formula, Seen
from consult.services.visits import NextSlot
from consult.zones import GROUPS
from formulas import mixing
from formulas.mixing import MadeFrom
from salon.numbers import Number, WholeNumber
from salon.widgets import DateInput, Segments, Stepper

_GRAMS: dict[str, Any] = {
    "min_value": Decimal("0.1"),
    "max_value": Decimal("999.9"),
    "decimal_places": 1,
}


class BowlForm(forms.Form):
    """One bowl, line by line: planned, and as the scale showed it."""

    formula = forms.IntegerField(widget=forms.HiddenInput(), min_value=1)
    developer_grams = Number(
        label=_("Developer"),
        min_value=Decimal(0),
        max_value=Decimal("999.9"),
        decimal_places=1,
        widget=Stepper({"step": "0.1"}, unit="g"),
    )
    stock_percent = Number(
        label=_("Stronger bottle"),
        required=False,
        min_value=Decimal("0.1"),
        max_value=Decimal(60),
        decimal_places=2,
        widget=Stepper({"step": "0.1"}, unit="%"),
        help_text=_("As its label says."),
    )
    thinner_percent = Number(
        label=_("Thinned with"),
        required=False,
        min_value=Decimal(0),
        max_value=Decimal(60),
        decimal_places=2,
        widget=Stepper({"step": "0.1"}, unit="%"),
        help_text=_("0 is water: distilled, as the maker asks."),
    )
    developer_batch = forms.CharField(label=_("Batch"), required=False, max_length=40)
    note = forms.CharField(label=_("Note"), required=False, max_length=200)

    def __init__(
        self,
        *args: Any,
        mix: Formula,
        batches: dict[int, str] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.mix = mix
        self.dilution: mixing.Dilution | None = None
        self.lines = list(mix.lines.all())
        self.initial.setdefault("formula", mix.pk)
        self.initial.setdefault("developer_grams", mix.developer_grams)
        for line in self.lines:
            pk = line.shade_id
            self.fields[f"poured-{pk}"] = Number(
                label=line.shade.name,
                initial=line.grams,
                widget=Stepper({"step": "0.1"}, unit="g"),
                **_GRAMS,
            )
            self.fields[f"in_bowl-{pk}"] = forms.BooleanField(
                label=_("In the bowl"), required=False
            )
            # What the sheet last asked for: a weight typed over it counts as poured.
            self.fields[f"asked-{pk}"] = forms.DecimalField(
                required=False, initial=line.grams, widget=forms.HiddenInput()
            )
            self.fields[f"batch-{pk}"] = forms.CharField(
                label=_("Batch"),
                required=False,
                max_length=40,
                initial=(batches or {}).get(pk, ""),
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if self.made_from and cleaned.get("developer_grams"):
            try:
                self.dilution = mixing.dilute_developer(
                    stronger=self.made_from.stock,
                    weaker=self.made_from.thinner,
                    wanted=self.mix.developer_percent,
                    grams=cleaned["developer_grams"],
                )
            except mixing.MixingRefused as refusal:
                self.add_error("stock_percent", str(refusal))
        return cleaned

    @property
    def made_from(self) -> MadeFrom | None:
        """Return the two bottles that the developer is made from, if it is."""
        stock = self.cleaned_data.get("stock_percent")
        return (
            MadeFrom(stock, self.cleaned_data.get("thinner_percent") or Decimal(0))
            if stock
            else None
        )

    def rows(self) -> list[dict[str, Any]]:
        """Return the lines in the order of weighing, each with its fields."""
        return [
            {
                "line": line,
                "poured": self[f"poured-{line.shade_id}"],
                "in_bowl": self[f"in_bowl-{line.shade_id}"],
                "asked": self[f"asked-{line.shade_id}"],
                "batch": self[f"batch-{line.shade_id}"],
            }
            for line in self.lines
        ]

    @property
    def poured(self) -> dict[int, Decimal]:
        """Return the cleaned weights by shade id."""
        return {
            line.shade_id: self.cleaned_data[f"poured-{line.shade_id}"] for line in self.lines
        }

    @property
    def in_bowl(self) -> dict[int, Decimal]:
        """Return the weights of the lines that are poured: ticked, or typed over."""
        told = self.cleaned_data
        return {
            pk: grams
            for pk, grams in self.poured.items()
            if told[f"in_bowl-{pk}"] or grams != (told[f"asked-{pk}"] or grams)
        }

    @property
    def batches(self) -> dict[int, str]:
        """Return the cleaned batches by shade id."""
        return {
            line.shade_id: self.cleaned_data[f"batch-{line.shade_id}"] for line in self.lines
        }


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
