"""The controls that only the bench has."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from formulas.drawing.strands import UndertoneStrands
from salon.numbers import Number, WholeNumber, plain_number

__all__ = ["Number", "Undertone", "WholeNumber"]

UNDERTONE_WORDS: tuple[Any, ...] = (
    _("much more orange"),
    _("more orange"),
    _("average"),
    _("more golden"),
    _("much more golden"),
)


class Strands(forms.RadioSelect):
    """Drawn strands in a row, one for each choice; the one that looks alike is pressed."""

    template_name = "consult/widgets/strands.html"

    def __init__(
        self, colours: Sequence[str] = (), attrs: dict[str, Any] | None = None
    ) -> None:
        super().__init__(attrs)
        self.colours = list(colours)
        self.apart = [True] * len(self.colours)

    def get_context(
        self, name: str, value: Any, attrs: dict[str, Any] | None
    ) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        options = [
            option for _g, group, _i in context["widget"]["optgroups"] for option in group
        ]
        shown = [
            is_apart or option["selected"]
            for option, is_apart in zip(options, self.apart, strict=True)
        ]
        context["widget"]["strands"] = list(zip(options, self.colours, shown, strict=True))
        return context


class Undertone(Strands):
    """Strands from more orange to more golden.

    The page's script recolours them as the level moves. Nothing is chosen at first. A value
    between two strands, as earlier readings have it, takes the nearer one's place.
    """

    def show(self, strands: UndertoneStrands, level: str, value: Any) -> None:
        """Draw the strands of a level; of the middle one where it makes no sense yet."""
        key = level if level in strands["levels"] else "6.0"
        self.colours, self.apart = strands["levels"][key], strands["apart"][key]
        steps = [f"{step:g}" for step in strands["undertones"]]
        try:
            undertone = float(plain_number(str(value)))
        except ValueError:
            undertone = float("nan")
        if -1 <= undertone <= 1:
            near = min(range(len(steps)), key=lambda i: abs(float(steps[i]) - undertone))
            steps[near] = f"{undertone:g}"
        self.choices = list(zip(steps, UNDERTONE_WORDS, strict=True))

    def format_value(self, value: Any) -> Any:
        """Return the value as the strands name it: "0.5" for 0.50."""
        try:
            return [f"{float(plain_number(str(value))):g}"]
        except ValueError:
            return []


class SegmentsMany(forms.CheckboxSelectMultiple):
    """Some of a few short words, joined in a row."""

    template_name = "django/forms/widgets/segments.html"
