"""What an owner says of a client's requests, and the filter of the consents."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.models import ConsentKind, ErasureReason, RestrictionReason


class AskErasureForm(forms.Form):
    """How the client asked to be forgotten."""

    reason = forms.ChoiceField(
        label=_("How was it asked for?"),
        choices=[
            (reason.value, reason.label)
            for reason in (ErasureReason.IN_PERSON, ErasureReason.IN_WRITING)
        ],
        widget=forms.RadioSelect,
    )
    is_sure = forms.BooleanField(
        label=_("I have made sure that it really is the client who asks."),
    )


class RestrictForm(forms.Form):
    """Why the record is shut."""

    why = forms.ChoiceField(
        label=_("Why?"), choices=RestrictionReason.choices, widget=forms.RadioSelect
    )


class LiftForm(forms.Form):
    """That the client knows."""

    is_client_informed = forms.BooleanField(
        label=_("The client knows that the record is opened again.")
    )


class ConsentFilterForm(forms.Form):
    """By kind and answer; all may stay empty."""

    kind = forms.ChoiceField(label=_("To what"), required=False)
    answer = forms.ChoiceField(
        label=_("Answer"),
        required=False,
        choices=[("", _("both")), ("given", _("agreed")), ("withdrawn", _("withdrawn"))],
    )
    latest = forms.BooleanField(label=_("only the latest of each client"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["kind"].choices = [("", _("everything")), *ConsentKind.choices]  # type: ignore[attr-defined]
