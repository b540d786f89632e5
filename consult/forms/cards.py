"""The form that says what became of a mailed card."""

from django import forms

from consult.models import MailAnswer


class MailAnswerForm(forms.Form):
    """What became of a mail that nobody saw leave."""

    answer = forms.ChoiceField(choices=MailAnswer.choices)
