"""The form controls that the product draws itself (templates/django/forms/widgets)."""

import re
from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils import formats

_PLAIN = re.compile(r"-?[0-9]+(\.[0-9]+)?")


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


class DecimalInput(forms.NumberInput):
    """A number in the reader's own digits, typed with a point or a comma.

    No `type="number"`: where the browser speaks another language than the page, Chromium
    drops the comma of "12,5" without a word and posts 125.
    """

    input_type = "text"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__({"inputmode": "decimal", "autocomplete": "off", **(attrs or {})})

    def format_value(self, value: Any) -> str | None:
        """Return the value with the decimal separator of the page's language."""
        if value is None or value == "":
            return None
        if isinstance(value, str) and not _PLAIN.fullmatch(value):
            return value  # as it was typed
        return str(value).replace(".", formats.get_format("DECIMAL_SEPARATOR"))


class Stepper(DecimalInput):
    """A number between two large buttons; min, max and step come from the field or `attrs`."""

    template_name = "django/forms/widgets/stepper.html"

    def __init__(self, attrs: dict[str, Any] | None = None, *, unit: Any = "") -> None:
        super().__init__({"class": "stepper__value", "role": "spinbutton", **(attrs or {})})
        self.unit = unit

    def get_context(
        self, name: str, value: Any, attrs: dict[str, Any] | None
    ) -> dict[str, object]:
        context = super().get_context(name, value, attrs)
        attributes = context["widget"]["attrs"]
        for limit in ("min", "max", "step"):
            if limit in attributes:
                attributes[f"data-{limit}"] = str(attributes.pop(limit))
        for limit in ("min", "max"):
            if f"data-{limit}" in attributes:
                attributes[f"aria-value{limit}"] = attributes[f"data-{limit}"]
        attributes["data-decimal"] = formats.get_format("DECIMAL_SEPARATOR")
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
