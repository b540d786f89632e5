"""The controls that only the bench has."""

from collections.abc import Mapping
from typing import Any

from django import forms

from salon.numbers import Number, WholeNumber

__all__ = ["Number", "Undertone", "WholeNumber"]


class Undertone(forms.NumberInput):
    """A slider from more orange to more golden under strands to compare with.

    The page's script recolours the strands as the level moves; without it the slider works
    alone.
    """

    input_type = "range"
    template_name = "consult/widgets/undertone.html"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__({"min": "-1", "max": "1", "step": "0.1", **(attrs or {})})
        self.steps: list[float] = []
        self.colours: list[str] = []

    def show(self, strands: Mapping[str, Any], level: str) -> None:
        """Draw the strands of a level; of the middle one where it makes no sense yet."""
        self.steps = strands["undertones"]
        self.colours = strands["levels"].get(level, strands["levels"]["6.0"])

    def get_context(self, name: str, value: Any, attrs: dict | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        context["widget"]["strands"] = list(zip(self.steps, self.colours, strict=True))
        return context


class SegmentsMany(forms.CheckboxSelectMultiple):
    """Some of a few short words, joined in a row."""

    template_name = "django/forms/widgets/segments.html"
