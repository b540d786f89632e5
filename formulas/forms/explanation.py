"""The form of a base and a mix whose result is explained."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from formulas.engine_inputs import ZoneInput
from formulas.models import ProductLine
from salon.numbers import Number
from salon.widgets import Stepper

ROWS = (1, 2, 3, 4)


def _scale(label: Any, low: str, high: str, step: str, **more: Any) -> forms.DecimalField:
    unit = more.pop("unit", "")
    return Number(
        label=label,
        min_value=Decimal(low),
        max_value=Decimal(high),
        widget=Stepper({"min": low, "max": high, "step": step}, unit=unit),
        **more,
    )


@dataclass(frozen=True)
class MixRow:
    """The fields of one shade of the mix."""

    shade: forms.BoundField
    parts: forms.BoundField


class ExplanationForm(forms.Form):
    """A base and a mix, set by hand."""

    lifted_level = _scale(gettext_lazy("Lifted level"), "1", "10", "0.5")
    undertone = _scale(
        gettext_lazy("Undertone"),
        "-1",
        "1",
        "0.25",
        help_text=gettext_lazy("−1 more orange, 0 average, 1 more golden"),
    )
    white_percent = _scale(gettext_lazy("White hair"), "0", "100", "5", unit="%")
    porosity = _scale(
        gettext_lazy("Porosity"),
        "-1",
        "1",
        "0.5",
        help_text=gettext_lazy("−1 low, 0 normal, 1 high"),
    )
    minutes = _scale(gettext_lazy("Processing time"), "1", "90", "1", unit=gettext_lazy("min"))

    def __init__(self, *args: Any, shade_names: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [("", _("none")), *((name, name) for name in shade_names)]
        for row in ROWS:
            self.fields[f"shade_{row}"] = forms.ChoiceField(
                label=_("Shade %(number)s") % {"number": row},
                choices=choices,
                required=False,
            )
            self.fields[f"parts_{row}"] = Number(
                label=_("Parts of shade %(number)s") % {"number": row},
                required=False,
                min_value=0,
                max_value=20,
                widget=Stepper({"min": "0", "max": "20", "step": "0.5"}),
            )

    def rows(self) -> list[MixRow]:
        """Return the rows of the mix, shade beside parts."""
        return [MixRow(self[f"shade_{n}"], self[f"parts_{n}"]) for n in ROWS]

    def clean(self) -> dict[str, Any]:
        """Gather the mix; at least one shade has parts, none is there twice."""
        cleaned = super().clean() or {}
        parts: dict[str, float] = {}
        for row in ROWS:
            name, part = cleaned.get(f"shade_{row}"), cleaned.get(f"parts_{row}")
            if not name or not part:
                continue
            if name in parts:
                self.add_error(f"shade_{row}", _("This shade is already in the mix."))
            parts[name] = float(part)
        if not parts and not self.errors:
            raise forms.ValidationError(_("Choose a shade and enter its parts."))
        cleaned["parts"] = parts
        return cleaned

    def zone(self) -> ZoneInput:
        """Return the zone as read."""
        read = self.cleaned_data
        return ZoneInput(
            lifted_level=float(read["lifted_level"]),
            undertone=float(read["undertone"]),
            white_percent=float(read["white_percent"]),
            porosity=float(read["porosity"]),
        )


def starting_values(line: ProductLine, parts: list[tuple[str, float]]) -> dict[str, str]:
    """Return what the form starts with: a common base, the line's time, a mix."""
    values = {
        "lifted_level": "7.5",
        "undertone": "0",
        "white_percent": "0",
        "porosity": "0",
        "minutes": str(line.processing_minutes),
    }
    for row, (name, part) in zip(ROWS, parts, strict=False):
        values |= {f"shade_{row}": name, f"parts_{row}": f"{part:g}"}
    return values
