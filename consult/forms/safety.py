"""The safety questions as a form."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.forms import question_field
from clients.forms.health_consent import agreed_by, ask_for_consent, consent_fields
from clients.models import Answer, SafetyAnswer
from clients.selectors.health_consent import HealthConsent
from clients.skin_test.safety import QUESTIONS, Effect, Question

Earlier = Mapping[str, tuple[SafetyAnswer, SafetyAnswer | None]]

# What belongs together is asked together; the order of the questions stays.
GROUPS: tuple[tuple[Any, tuple[str, ...]], ...] = (
    (_("Scalp and hair today"), ("scalp", "infection")),
    (
        _("Reactions and allergies"),
        (
            "reaction_ever",
            "reaction_since",
            "black_henna",
            "black_henna_reaction",
            "new_allergy",
        ),
    ),
    (_("Health"), ("skin", "asthma", "medication")),
    (_("What was done to the hair"), ("breakage", "metallic", "pregnancy")),
)


@dataclass(frozen=True)
class QuestionRow:
    """A question with its field, what a yes means, and the last answer."""

    field: forms.BoundField
    advice: object
    forbids: bool
    earlier: SafetyAnswer | None
    otherwise: SafetyAnswer | None
    is_joined: bool


@dataclass(frozen=True)
class QuestionGroup:
    """Questions that are asked together."""

    title: object
    questions: Sequence[QuestionRow]
    may_answer_together: bool


class SafetyForm(forms.Form):
    """Yes or no to every question; what may be left open says so."""

    def __init__(
        self,
        *args: Any,
        earlier: Earlier | None = None,
        consent: HealthConsent | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        ask_for_consent(self, consent)
        self.earlier = earlier or {}
        for question in QUESTIONS:
            self.fields[question.key] = question_field(question)

    def consent_fields(self) -> list[forms.BoundField]:
        """Return the question for the consent, where it is asked."""
        return consent_fields(self)

    def agreed_by(self) -> str | None:
        """Return who agreed now, if anybody was asked."""
        return agreed_by(self)

    def groups(self) -> list[QuestionGroup]:
        """Return the questions as they are asked, group by group.

        `may_answer_together`: the client answered each of them at an earlier visit, and never
        with a yes; then one press answers no to all, once they were asked aloud.
        """
        known = {question.key: question for question in QUESTIONS}
        return [
            QuestionGroup(
                title=title,
                questions=[self._question(known[key]) for key in keys],
                may_answer_together=all(
                    self._is_plain(known[key]) for key in keys if not known[key].may_be_skipped
                ),
            )
            for title, keys in GROUPS
        ]

    def _question(self, question: Question) -> QuestionRow:
        """Return a question with its field, what a yes means, and the last answer."""
        earlier, otherwise = self.earlier.get(question.key, (None, None))
        return QuestionRow(
            field=self[question.key],
            advice=question.advice,
            forbids=question.effect is Effect.FORBIDS,
            earlier=earlier,
            otherwise=otherwise,
            is_joined=not question.may_be_skipped,
        )

    def _is_plain(self, question: Question) -> bool:
        """Return whether the client was asked before and never answered yes."""
        rows = [row for row in self.earlier.get(question.key, ()) if row]
        return bool(rows) and all(row.answer == Answer.NO for row in rows)
