"""Many shades in one form: a delivery as it is unpacked, and a count of the whole shelf."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from formulas.models import Shade
from formulas.shade_list import bar_codes
from formulas.stock_sheets import Counted, Delivered
from salon.numbers import Number
from salon.widgets import DateInput, DecimalInput


@dataclass(frozen=True)
class SheetRow:
    """A shade with its fields of a sheet."""

    shade: Shade
    fields: tuple[forms.BoundField, ...]


class DeliveryForm(forms.Form):
    """What came in of each shade: tubes, batch, best before; empty rows came not."""

    scan = forms.CharField(
        label=gettext_lazy("Scan a tube"),
        required=False,
        max_length=20,
        widget=forms.TextInput(
            {"inputmode": "numeric", "autocomplete": "off", "autofocus": True}
        ),
        help_text=gettext_lazy(
            "Each scan adds one tube. You can also type the number under the bar code."
        ),
    )

    def __init__(self, *args: Any, shades: Sequence[Shade], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.shades = list(shades)
        for shade in self.shades:
            self.fields[f"tubes-{shade.pk}"] = Number(
                label=_("Tubes of %(shade)s") % {"shade": shade},
                required=False, min_value=0, max_value=999, decimal_places=1,
                widget=DecimalInput({"size": 4}),
            )  # fmt: skip
            self.fields[f"batch-{shade.pk}"] = forms.CharField(
                label=_("Batch of %(shade)s") % {"shade": shade},
                required=False, max_length=40, widget=forms.TextInput({"size": 10}),
            )  # fmt: skip
            self.fields[f"expires-{shade.pk}"] = forms.DateField(
                label=_("Best before of %(shade)s") % {"shade": shade},
                required=False, widget=DateInput(),
            )  # fmt: skip

    def rows(self) -> list[SheetRow]:
        """Return each shade with its fields, those that came first."""
        names = ("tubes", "batch", "expires")
        rows = [SheetRow(s, tuple(self[f"{n}-{s.pk}"] for n in names)) for s in self.shades]
        return sorted(rows, key=lambda row: not row.fields[0].value())

    def delivered(self) -> list[Delivered]:
        """Return what came in."""
        cleaned = self.cleaned_data
        return [
            Delivered(s, tubes, cleaned[f"batch-{s.pk}"], cleaned[f"expires-{s.pk}"])
            for s in self.shades
            if (tubes := cleaned[f"tubes-{s.pk}"])
        ]

    def clean(self) -> dict[str, Any]:
        """Add a scanned tube; a batch without tubes says how many are missing."""
        cleaned = super().clean() or {}
        for shade in self.shades:
            has_more = cleaned.get(f"batch-{shade.pk}") or cleaned.get(f"expires-{shade.pk}")
            if has_more and not cleaned.get(f"tubes-{shade.pk}"):
                self.add_error(f"tubes-{shade.pk}", _("How many tubes?"))
        return cleaned

    def with_scan(self) -> "DeliveryForm":
        """Return the form with one more tube of what was scanned, or the error beside it."""
        data = dict(self.data.items())
        try:
            digits = bar_codes.read(data.get("scan", ""))
            shade = next((s for s in self.shades if s.gtin == digits), None)
            if shade is None:
                raise bar_codes.NoBarCode(
                    _("No shade has the bar code %(digits)s. Enter it with the shade first."),
                    code="unknown",
                    digits=digits,
                )
        except bar_codes.NoBarCode as error:
            self.add_error("scan", str(error))
            return self
        name = f"tubes-{shade.pk}"
        tubes = self.cleaned_data.get(name) or Decimal(0)
        return DeliveryForm({**data, "scan": "", name: str(tubes + 1)}, shades=self.shades)


class CountSheetForm(forms.Form):
    """What was counted of each shade, in grams; empty rows were not counted."""

    def __init__(self, *args: Any, shades: Sequence[Shade], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.shades = list(shades)
        for shade in self.shades:
            self.fields[f"tubes-{shade.pk}"] = Number(
                label=_("Full tubes of %(shade)s") % {"shade": shade},
                required=False, min_value=0, max_value=999, decimal_places=0,
                widget=DecimalInput({"size": 4}),
            )  # fmt: skip
            self.fields[f"grams-{shade.pk}"] = Number(
                label=_("Opened grams of %(shade)s") % {"shade": shade},
                required=False, min_value=0, max_value=99_999, decimal_places=1,
                widget=DecimalInput({"size": 6}),
            )  # fmt: skip

    def rows(self) -> list[SheetRow]:
        """Return each shade with its fields."""
        return [
            SheetRow(s, (self[f"tubes-{s.pk}"], self[f"grams-{s.pk}"])) for s in self.shades
        ]

    def counted(self) -> list[Counted]:
        """Return what was counted: full tubes and what is left in an opened one."""
        found = []
        for shade in self.shades:
            tubes = self.cleaned_data[f"tubes-{shade.pk}"]
            grams = self.cleaned_data[f"grams-{shade.pk}"]
            if tubes is not None or grams is not None:
                whole = (tubes or Decimal(0)) * shade.tube_grams
                found.append(Counted(shade, round(whole + (grams or Decimal(0)), 1)))
        return found
