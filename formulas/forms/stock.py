"""Forms that receive, count and discard stock."""

from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy

from formulas.models import Shade
from salon.numbers import Number
from salon.widgets import DateInput, Stepper


def _grams(label: Any, *, least: str = "0.1", help_text: Any = "") -> forms.DecimalField:
    return Number(
        label=label,
        min_value=Decimal(least),
        max_value=100_000,
        max_digits=8,
        decimal_places=1,
        widget=Stepper({"step": "1", "min": "0"}, unit="g"),
        help_text=help_text,
    )


class ReceiveForm(forms.Form):
    """What came in of one shade: grams, and the batch printed on the box."""

    grams = _grams(gettext_lazy("Grams received"))
    batch = forms.CharField(
        label=gettext_lazy("Batch"),
        max_length=40,
        required=False,
        help_text=gettext_lazy("As printed on the tube or box."),
    )
    expires_on = forms.DateField(
        label=gettext_lazy("Best before"), widget=DateInput(), required=False
    )


class ShadeChoice(forms.ModelChoiceField):
    """A shade, named with its line."""

    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.line.name}: {obj.name}"


class ReceiveShadeForm(ReceiveForm):
    """What came in, the shade chosen from the shelf."""

    shade = ShadeChoice(label=gettext_lazy("Shade"), queryset=Shade.objects.none())
    field_order = ["shade", "grams", "batch", "expires_on"]

    def __init__(self, *args: Any, shades: QuerySet[Shade], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["shade"].queryset = shades  # type: ignore[attr-defined]


class CountForm(forms.Form):
    """What the shelf holds, as weighed."""

    grams = _grams(
        gettext_lazy("Grams counted"),
        least="0",
        help_text=gettext_lazy("All tubes of this shade together."),
    )


class DiscardForm(forms.Form):
    """What was thrown away."""

    grams = _grams(gettext_lazy("Grams discarded"))
    batch = forms.CharField(label=gettext_lazy("Batch"), max_length=40, required=False)
