"""Forms that replace and restore colours of the level chart."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.formats import number_format
from django.utils.translation import gettext_lazy

from formulas.models import EntryKind, Standing
from salon.numbers import Number
from salon.widgets import Segments

LEVEL_CHOICES = [(str(Decimal(half) / 2), Decimal(half) / 2) for half in range(2, 21)]


def level_choices() -> list[tuple[str, str]]:
    """Return the half levels, in the reader's own digits."""
    return [(key, number_format(level, 1)) for key, level in LEVEL_CHOICES]


def _number(label: Any, low: int, high: int) -> forms.DecimalField:
    return Number(
        label=label,
        min_value=low,
        max_value=high,
        max_digits=6,
        decimal_places=2,
    )


class ChartEntryForm(forms.Form):
    """One colour of the chart, as measured or as set by eye."""

    level = forms.TypedChoiceField(
        label=gettext_lazy("Level"),
        choices=level_choices,
        coerce=Decimal,
    )
    kind = forms.ChoiceField(
        label=gettext_lazy("Which colour"), choices=EntryKind.choices, widget=Segments()
    )
    standing = forms.ChoiceField(
        label=gettext_lazy("Source"),
        choices=[
            (Standing.MEASURED, Standing.MEASURED.label),
            (Standing.BY_EYE, Standing.BY_EYE.label),
        ],
        widget=Segments(),
        initial=Standing.MEASURED,
    )
    lightness = _number(gettext_lazy("L*"), 0, 100)
    green_red = _number(gettext_lazy("a*"), -60, 80)
    blue_yellow = _number(gettext_lazy("b*"), -60, 100)

    def fields_of_entry(self) -> dict[str, object]:
        """Return the cleaned values that the record holds."""
        numbers = ("lightness", "green_red", "blue_yellow")
        return {
            **{name: self.cleaned_data[name] for name in ("level", "kind", "standing")},
            **{name: float(self.cleaned_data[name]) for name in numbers},
        }


class RestoreForm(forms.Form):
    """Which entry goes back to the model's own colour."""

    level = forms.TypedChoiceField(choices=LEVEL_CHOICES, coerce=Decimal)
    kind = forms.ChoiceField(choices=EntryKind.choices)
