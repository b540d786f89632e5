"""The form controls that the product draws itself (templates/django/forms/widgets)."""

from collections.abc import Mapping
from typing import Any

from django import forms


class DateInput(forms.DateInput):
    """A date; the browser's own picker, in the reader's own order."""

    input_type = "date"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__(attrs, format="%Y-%m-%d")


class TimeInput(forms.TimeInput):
    """A time of day, by default in steps of five minutes."""

    input_type = "time"

    def __init__(self, attrs: dict[str, Any] | None = None, step_minutes: int = 5) -> None:
        super().__init__({"step": step_minutes * 60, **(attrs or {})}, format="%H:%M")


class DateTimeInput(forms.DateTimeInput):
    """A date and time in the salon's time zone."""

    input_type = "datetime-local"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__(attrs, format="%Y-%m-%dT%H:%M")


class Stepper(forms.NumberInput):
    """A number between two large buttons; min, max and step come from the field or `attrs`."""

    template_name = "django/forms/widgets/stepper.html"

    def __init__(self, attrs: dict[str, Any] | None = None, *, unit: Any = "") -> None:
        super().__init__({"class": "stepper__value", "inputmode": "decimal", **(attrs or {})})
        self.unit = unit

    def get_context(self, name: str, value: Any, attrs: dict | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        context["widget"]["unit"] = self.unit
        return context


class Segments(forms.RadioSelect):
    """One of a few short words, joined in a row."""

    template_name = "django/forms/widgets/segments.html"


class RadioCards(forms.RadioSelect):
    """One of a few choices; `more` maps a value to the sentence under its label."""

    template_name = "django/forms/widgets/radio_cards.html"

    def __init__(
        self,
        attrs: dict[str, Any] | None = None,
        choices: Any = (),
        *,
        more: Mapping[Any, Any] | None = None,
    ) -> None:
        super().__init__(attrs, choices)
        self.more = more or {}

    def create_option(self, name: str, value: Any, *args: Any, **kwargs: Any) -> dict[str, Any]:
        option = super().create_option(name, value, *args, **kwargs)
        option["more"] = self.more.get(value, self.more.get(str(value), ""))
        return option
