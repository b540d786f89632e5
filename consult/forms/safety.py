"""The safety questions as a form."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.models import Answer, SafetyAnswer
from clients.safety import QUESTIONS, Effect
from salon.widgets import Segments


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
            choices = [(Answer.NO, _("No")), (Answer.YES, _("Yes"))]
            if question.may_be_skipped:
                choices.append((Answer.SKIPPED, _("Not said")))
            self.fields[question.key] = forms.ChoiceField(
                label=question.text,
                choices=choices,
                required=not question.may_be_skipped,
                widget=Segments(),
                error_messages={"required": _("Ask this one too.")},
            )

    def asked(self) -> list[dict[str, Any]]:
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
