"""The consent to keep health data as a part of the first form that keeps any."""

from typing import Any

from django import forms
from django.utils.html import format_html
from django.utils.translation import gettext as _

from clients.selectors.health_consent import HealthConsent


def ask_for_consent(form: forms.Form, consent: HealthConsent | None) -> None:
    """Add the question to a form, unless the client has agreed already."""
    if consent is None or consent.is_given:
        return
    fields: dict[str, Any] = form.fields
    fields["health_consent"] = forms.BooleanField(
        label=format_html('<span lang="{}">{}</span>', consent.spoken, consent.wording),
        error_messages={
            "required": _("Without this consent the salon keeps neither tests nor answers.")
        },
        help_text=_("Let the client read this, or read it aloud."),
    )
    if consent.is_minor:
        fields["guardian"] = forms.CharField(
            label=_("Name of the parent or guardian who agrees"), max_length=120
        )


def agreed_by(form: forms.Form) -> str | None:
    """Return who agreed in a valid form: "" for the client, a guardian's name, or None."""
    if "health_consent" not in form.fields:
        return None
    return " ".join(form.cleaned_data.get("guardian", "").split())


def consent_fields(form: forms.Form) -> list[forms.BoundField]:
    """Return the question's fields as the page draws them."""
    return [form[name] for name in ("health_consent", "guardian") if name in form.fields]
