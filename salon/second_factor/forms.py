"""Codes as they are typed; nothing here compares them."""

from typing import Any

from django import forms
from django.utils.translation import gettext, gettext_lazy

from salon.tablet.forms import CodeField, PasskeyField, PasswordField


class CodeForm(forms.Form):
    """The second step of a sign-in: a code, or a passkey."""

    use_required_attribute = False
    code = CodeField(
        either=True,
        help_text=gettext_lazy("Six digits, or one of your recovery codes."),
    )
    passkey = PasskeyField()

    def clean(self) -> dict[str, Any]:
        """Ask for one of the two."""
        data = self.cleaned_data
        if not self.errors and not data.get("code") and not data.get("passkey"):
            self.add_error("code", gettext("Enter a code."))
        return data


class SetUpForm(forms.Form):
    """The password, and a first code that proves the app."""

    password = PasswordField()
    code = CodeField(
        label=gettext_lazy("Code that the app shows now"),
        help_text=gettext_lazy("Six digits."),
    )


class ProofForm(CodeForm):
    """Password and code or passkey, before a second factor is changed."""

    password = PasswordField()
    field_order = ("password", "code", "passkey")
