"""The safety questions as a form."""

from collections.abc import Mapping
from typing import Any

from django import forms

from clients.forms import question_field
from clients.models import SafetyAnswer
from clients.skin_test.safety import QUESTIONS, Effect


class SafetyForm(forms.Form):
    """Yes or no to every question; what may be left open says so."""

    def __init__(
        self,
        *args: Any,
        earlier: Mapping[str, tuple[SafetyAnswer, SafetyAnswer | None]] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.earlier = earlier or {}
        for question in QUESTIONS:
            self.fields[question.key] = question_field(question)

    def questions(self) -> list[dict[str, Any]]:
        """Return each question with its field, what a yes means, and the last answer."""
        return [
            {
                "field": self[question.key],
                "advice": question.advice,
                "forbids": question.effect is Effect.FORBIDS,
                "voids": question.effect is Effect.VOIDS,
                "earlier": earlier,
                "otherwise": otherwise,
            }
            for question in QUESTIONS
            for earlier, otherwise in [self.earlier.get(question.key, (None, None))]
        ]
