"""The form of the limits within which mixes are offered."""

from django import forms
from django.utils.translation import gettext_lazy as _

from formulas.models import PracticeRules
from salon.numbers import Number
from salon.widgets import Segments, Stepper

_SHADES = [(1, _("one")), (2, _("two")), (3, _("three"))]


class PracticeForm(forms.ModelForm):
    """Another set of limits within which mixes are offered."""

    most_shades = forms.TypedChoiceField(
        label=_("Shades in one bowl, at most"), choices=_SHADES, coerce=int, widget=Segments()
    )

    class Meta:
        model = PracticeRules
        fields = (
            "levels_below",
            "levels_above",
            "most_clear_percent",
            "most_shades",
            "simple_first",
        )
        field_classes = {
            "levels_below": Number,
            "levels_above": Number,
            "most_clear_percent": Number,
        }
        widgets = {
            "levels_below": Stepper({"step": "0.5"}),
            "levels_above": Stepper({"step": "0.5"}),
            "most_clear_percent": Stepper({"step": "5"}),
        }
