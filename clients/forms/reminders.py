"""Forms about the words of reminders and how the desk works."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.messages.reminder_texts import FIELDS, unknown_fields
from clients.models import DeskPolicy, ReminderTemplate


class TemplateForm(forms.ModelForm):
    """The salon's own words for one kind of reminder."""

    class Meta:
        model = ReminderTemplate
        fields = ["is_on", "hours_before", "subject", "body"]
        widgets = {
            "subject": forms.TextInput({"dir": "auto"}),
            "body": forms.Textarea({"rows": 8, "dir": "auto"}),
        }
        help_texts = {
            "body": gettext_lazy(
                "You can use {name}, {salon}, {phone}, {when}, {service}, {stylist} and "
                "{until}. Do not mention health: others may read it."
            ),
        }

    def clean_hours_before(self) -> int:
        hours: int = self.cleaned_data["hours_before"]
        if hours > 24 * 21:
            raise forms.ValidationError(_("Three weeks (504 hours) at most."))
        return hours

    def clean_subject(self) -> str:
        return self._known("subject")

    def clean_body(self) -> str:
        return self._known("body")

    def _known(self, name: str) -> str:
        text: str = self.cleaned_data[name]
        unknown = unknown_fields(text)
        if unknown:
            raise forms.ValidationError(
                _("Unknown: %(names)s. You can use: %(known)s.")
                % {"names": ", ".join(unknown), "known": ", ".join(FIELDS)}
            )
        return text


class DeskPolicyForm(forms.Form):
    """How the front desk works."""

    desk_sees_medical_notes = forms.BooleanField(
        label=gettext_lazy("Receptionists can see medical notes"), required=False
    )
    history_years = forms.IntegerField(
        label=gettext_lazy("Years of hair history to show"), min_value=1, max_value=20
    )
    quiet_from = forms.TimeField(
        label=gettext_lazy("No messages after"), widget=forms.TimeInput({"type": "time"})
    )
    quiet_until = forms.TimeField(
        label=gettext_lazy("until"), widget=forms.TimeInput({"type": "time"})
    )

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = self.cleaned_data
        if {"quiet_from", "quiet_until"} <= data.keys():
            DeskPolicy(quiet_from=data["quiet_from"], quiet_until=data["quiet_until"]).clean()
        return data
