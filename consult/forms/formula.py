"""Parts of the line's shades, the bowl's weight and its time."""

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from consult.zones import GROUPS
from formulas.models import Shade
from salon.numbers import Number, WholeNumber
from salon.widgets import Stepper

MOST_SHADES = 6
MOST_PARTS = Decimal(20)
_PAIR = re.compile(r"([0-9]{1,12}):([0-9]{1,2}(?:\.[0-9]{1,2})?)")


class FormulaForm(forms.Form):
    """A bowl for one group of zones: parts of any shade of the line."""

    zones = forms.ChoiceField(choices=[(k, k) for k in GROUPS], widget=forms.HiddenInput())
    bowl_grams = Number(
        label=gettext_lazy("Bowl, with developer"),
        min_value=Decimal(10),
        max_value=Decimal(400),
        max_digits=5,
        decimal_places=1,
        widget=Stepper({"step": "5"}, unit="g"),
    )
    minutes = WholeNumber(
        label=gettext_lazy("Processing time"),
        min_value=1,
        max_value=90,
        widget=Stepper({"step": "1"}, unit=gettext_lazy("min")),
    )

    def __init__(
        self,
        *args: Any,
        shades: Iterable[Shade],
        parts: Mapping[int, Decimal] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.shades = list(shades)
        for shade in self.shades:
            field = Number(
                label=shade.name,
                required=False,
                min_value=Decimal(0),
                max_value=MOST_PARTS,
                max_digits=4,
                decimal_places=2,
                initial=f"{(parts or {}).get(shade.pk, Decimal(0)).normalize():f}",
                widget=Stepper({"step": "1"}),
            )
            self.fields[part_name(shade.pk)] = field

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        parts = {
            shade.pk: cleaned[part_name(shade.pk)]
            for shade in self.shades
            if cleaned.get(part_name(shade.pk))
        }
        if not self.errors and not parts:
            raise forms.ValidationError(_("Give at least one shade a part."))
        if len(parts) > MOST_SHADES:
            raise forms.ValidationError(_("More than six shades cannot be weighed truly."))
        cleaned["parts"] = parts
        return cleaned

    def rows(self) -> dict[str, list[dict[str, Any]]]:
        """Return the shades in the mix, and the others by level, each with its field."""
        inside: list[dict[str, Any]] = []
        others: list[dict[str, Any]] = []
        for shade in self.shades:
            field = self[part_name(shade.pk)]
            row = {"shade": shade, "field": field}
            (inside if str(field.value() or "0") not in {"0", "0.0", ""} else others).append(
                row
            )
        return {"inside": inside, "others": others}


def part_name(pk: int) -> str:
    """Return the form field of a shade's parts."""
    return f"parts-{pk}"


def parts_from_text(text: str, shades: Iterable[Shade]) -> dict[int, Decimal]:
    """Return parts by shade id from "12:2,15:1"; what makes no sense is left out."""
    known = {shade.pk for shade in shades}
    parts = {}
    for pair in text.split(",")[:MOST_SHADES]:
        told = _PAIR.fullmatch(pair)
        if told and int(told[1]) in known and 0 < Decimal(told[2]) <= MOST_PARTS:
            parts[int(told[1])] = Decimal(told[2])
    return parts
