"""Forms about phone calls to clients."""

from django import forms
from django.utils.translation import gettext_lazy

from clients.models import CallOutcome, CallReason


class CallForm(forms.Form):
    """What came of a call about an appointment."""

    reason = forms.ChoiceField(choices=CallReason.choices)
    outcome = forms.ChoiceField(choices=CallOutcome.choices)


class KeyedCallForm(forms.Form):
    """What came of a call of the day's list; a visit may be confirmed by it."""

    key = forms.CharField(max_length=80)
    outcome = forms.ChoiceField(
        choices=[("confirmed", gettext_lazy("confirmed")), *CallOutcome.choices]
    )
