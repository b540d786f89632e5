"""The form of the salon's rules of mixing."""

from django import forms

from formulas.models import MixingRules
from salon.numbers import Number
from salon.widgets import Segments, Stepper

_FACTORS = {name for name in vars(MixingRules) if name.endswith("_factor")}


class MixingRulesForm(forms.ModelForm):
    """Another set of the salon's rules of mixing."""

    class Meta:
        model = MixingRules
        fields = (
            "roots_grams",
            "mid_lengths_grams",
            "ends_grams",
            "short_factor",
            "shoulder_factor",
            "long_factor",
            "thin_factor",
            "normal_factor",
            "thick_factor",
            "least_bowl_grams",
            "least_grams",
            "scale_step",
        )
        widgets = {
            "scale_step": Segments(),
            **{name: Stepper({"step": "0.1"}) for name in _FACTORS},
        }
        field_classes = {name: Number for name in fields if name != "scale_step"}
