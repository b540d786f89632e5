"""Codes as they are typed; nothing here compares them."""

from django import forms
from django.utils.translation import gettext_lazy

from salon.tablet.forms import CodeField, PasswordField


class CodeForm(forms.Form):
    """The second step of a sign-in."""

    code = CodeField(
        help_text=gettext_lazy("Six digits, or one of your recovery codes."),
    )


class SetUpForm(forms.Form):
    """The password, and a first code that proves the app."""

    password = PasswordField()
    code = CodeField(
        label=gettext_lazy("Code that the app shows now"),
        help_text=gettext_lazy("Six digits."),
    )


class ProofForm(forms.Form):
    """Password and code, before a second factor is changed."""

    password = PasswordField()
    code = CodeField(
        help_text=gettext_lazy("Six digits, or one of your recovery codes."),
    )
