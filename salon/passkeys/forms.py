"""Passkeys as forms send them; nothing here checks what a passkey has signed."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from salon.models import Passkey
from salon.tablet.forms import PasskeyField, PasswordField

NAME = {"autocomplete": "off"}


class SignInByPasskeyForm(forms.Form):
    """What a passkey has signed, in place of name and password."""

    passkey = PasskeyField(required=True)
    next = forms.CharField(required=False, max_length=2000, widget=forms.HiddenInput)


class NameForm(forms.ModelForm):
    """What its owner calls a passkey."""

    class Meta:
        model = Passkey
        fields = ["name"]
        labels = {"name": _("Name")}
        widgets = {"name": forms.TextInput(NAME)}


class AddForm(forms.Form):
    """A name, the password unless it was just asked for, and the passkey itself."""

    name = forms.CharField(
        label=_("What do you call this passkey?"),
        max_length=60,
        help_text=_("For example: my phone."),
        widget=forms.TextInput(NAME),
    )
    password = PasswordField()
    passkey = PasskeyField(required=True)

    def __init__(self, *args: Any, is_proven: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if is_proven:
            del self.fields["password"]

    def clean(self) -> dict[str, Any]:
        """Say above the form that no passkey came; its field is hidden."""
        if self.errors.pop("passkey", None) and not self.errors:
            self.add_error(None, _("No passkey was made. Try again."))
        return self.cleaned_data
