from typing import Any

from django import forms
from django.utils.translation import gettext as _

from clients.models import Answer
from clients.skin_test.safety import QUESTIONS, Question
from salon.widgets import Segments


class SafetyForm(forms.Form):
    """The safety questions as the desk asks them; nothing is preset."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for question in QUESTIONS:
            self.fields[question.key] = question_field(question)

    def answers(self) -> dict[str, str]:
        """Return what was answered; a question that may be skipped counts as skipped."""
        return {
            question.key: self.cleaned_data[question.key] or Answer.SKIPPED
            for question in QUESTIONS
        }


def question_field(question: Question) -> forms.ChoiceField:
    """Return a question as both the desk and the consultation ask it; nothing is preset."""
    choices = [(Answer.NO, _("No")), (Answer.YES, _("Yes"))]
    if question.may_be_skipped:
        choices.append((Answer.SKIPPED, _("Not answered")))
    return forms.ChoiceField(
        label=str(question.text),
        choices=choices,
        widget=Segments(),
        required=not question.may_be_skipped,
        error_messages={"required": _("Ask this question before colour.")},
    )
