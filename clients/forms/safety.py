"""The form of the safety questions, and one field for each question."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _

from clients.forms.health_consent import agreed_by, ask_for_consent, consent_fields
from clients.models import Answer
from clients.selectors.health_consent import HealthConsent
from clients.skin_test.safety import QUESTIONS, Question
from salon.widgets import Segments


class SafetyForm(forms.Form):
    """The safety questions as the desk asks them; nothing is preset."""

    def __init__(self, *args: Any, consent: HealthConsent | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ask_for_consent(self, consent)
        for question in QUESTIONS:
            self.fields[question.key] = question_field(question)

    def consent_fields(self) -> list[forms.BoundField]:
        """Return the question for the consent, where it is asked."""
        return consent_fields(self)

    def agreed_by(self) -> str | None:
        """Return who agreed now, if anybody was asked."""
        return agreed_by(self)

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
