"""Forms about product lines, their recipes and compositions."""

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from formulas import selectors
from formulas.models import InventedAnswer, LineKind, ProductLine
from salon.models import Salon
from salon.numbers import Number
from salon.widgets import Segments, Stepper


class MinutesField(forms.CharField):
    """Minutes in a row: "10, 15"."""

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(map(str, value)) if isinstance(value, list) else value

    def to_python(self, value: Any) -> list[int]:  # type: ignore[override]
        words = re.split(r"[\s,;،、]+", super().to_python(value) or "")
        words = [word for word in words if word]
        if not all(word.isdecimal() and len(word) < 4 for word in words):
            raise forms.ValidationError(_("Enter whole minutes, separated by commas."))
        return [int(word) for word in words]


class StrengthsField(forms.CharField):
    """Strengths in a row: "4; 6.5"; the reader's decimal sign, in a list without spaces."""

    def prepare_value(self, value: Any) -> Any:
        return "; ".join(map(_plain, value)) if isinstance(value, list) else value

    def to_python(self, value: Any) -> list[str]:  # type: ignore[override]
        words = re.split(r"[\s;،、]+|,\s+", super().to_python(value) or "")
        words = [word.replace(",", ".") for word in words if word]
        if not all(re.fullmatch(r"[0-9]{1,2}([.][0-9]{1,2})?", word) for word in words):
            raise forms.ValidationError(_("Enter strengths in %, separated by semicolons."))
        strengths = {Decimal(word) for word in words}
        return [f"{strength.normalize():f}" for strength in sorted(strengths)]


def _plain(strength: str) -> str:
    return number_format(strength, len(strength.partition(".")[2]))


class NewLineForm(forms.ModelForm):
    """A line and its recipe."""

    check_minutes = MinutesField(
        label=gettext_lazy("Check at, minutes"),
        required=False,
        max_length=40,
        help_text=gettext_lazy(
            "When the maker says to check, for example 10, 15. The timer then reminds you."
        ),
    )

    further_developers = StrengthsField(
        label=gettext_lazy("Further developers, % peroxide"),
        required=False,
        max_length=60,
        help_text=gettext_lazy("Which a formula may take instead, for example 4; 6."),
    )

    class Meta:
        model = ProductLine
        fields = [
            "name",
            "kind",
            "developer_ratio",
            "developer_percent",
            "further_developers",
            "processing_minutes",
            "check_minutes",
            "developer_bottle_grams",
            "developer_bottle_price",
            "supplier",
        ]
        field_classes = dict.fromkeys(
            [
                "developer_ratio",
                "developer_percent",
                "developer_bottle_grams",
                "developer_bottle_price",
            ],
            Number,
        )
        widgets = {
            "kind": Segments(choices=LineKind.choices),
            "developer_ratio": Stepper({"min": "0.5", "max": "3", "step": "0.25"}),
            "developer_percent": Stepper({"min": "0", "max": "12", "step": "0.1"}, unit="%"),
            "developer_bottle_grams": Stepper({"min": "1", "step": "100"}, unit="g"),
            "developer_bottle_price": Stepper({"min": "0", "step": "0.5"}),
            "processing_minutes": Stepper(
                {"min": "1", "max": "90", "step": "1"}, unit=gettext_lazy("min")
            ),
        }

    def __init__(self, *args: Any, salon: Salon, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.salon = salon
        if isinstance(kind := self.fields.get("kind"), forms.ChoiceField):
            kind.choices = LineKind.choices  # without an empty one: none is pressed yet

        for name in ("developer_bottle_grams", "developer_bottle_price"):
            if name in self.fields:
                self.fields[name].required = False

    def clean_developer_bottle_grams(self) -> Decimal:
        """Keep what was there where it is left empty."""
        given: Decimal | None = self.cleaned_data["developer_bottle_grams"]
        return self.instance.developer_bottle_grams if given is None else given

    def clean_developer_bottle_price(self) -> Decimal:
        """Take an empty price for none."""
        return self.cleaned_data["developer_bottle_price"] or Decimal(0)

    def clean_name(self) -> str:
        """Refuse a name that another line of the salon has."""
        name: str = self.cleaned_data["name"].strip()
        same = selectors.lines(salon=self.salon).filter(name=name)
        if same.exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError(_("Another line already has this name."))
        return name


class LineForm(NewLineForm):
    """A line as it is changed: whether it is in use, and which version was read."""

    version = forms.IntegerField(widget=forms.HiddenInput())

    class Meta(NewLineForm.Meta):
        fields = [*NewLineForm.Meta.fields, "is_starting_point", "is_active"]


class CompositionForm(forms.Form):
    """A new composition, confirmed by someone who read what follows from it."""

    version = forms.IntegerField(widget=forms.HiddenInput())
    understood = forms.BooleanField(
        label=gettext_lazy("I have read this. The maker has changed the composition."),
        error_messages={"required": gettext_lazy("Tick this to confirm.")},
    )


class InventedForm(forms.Form):
    """What the owner says of a line whose shades are invented; each answer is a button."""

    answer = forms.ChoiceField(choices=InventedAnswer.choices)


class StarterForm(NewLineForm):
    """A line to begin with: what it is called, and what of it is on the shelf."""

    check_minutes: Any = None  # none to begin with: Django drops a field set to None
    further_developers: Any = None

    tubes = forms.IntegerField(
        label=gettext_lazy("Tubes of each shade in stock"),
        min_value=0,
        max_value=50,
        initial=2,
        widget=Stepper({"min": "0", "max": "50", "step": "1"}),
        help_text=gettext_lazy("Roughly. You can count each shade later."),
    )
    tube_grams = Number(
        label=gettext_lazy("Grams in a tube"),
        min_value=1,
        max_value=1000,
        max_digits=6,
        decimal_places=1,
        initial=60,
        widget=Stepper({"min": "1", "max": "1000", "step": "5"}, unit="g"),
    )

    class Meta:
        model = ProductLine
        fields = ["name"]
        help_texts = {
            "name": gettext_lazy(
                "Best the name of the line you use: a patch test counts for one line."
            )
        }
