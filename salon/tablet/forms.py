"""PINs and passwords as they are typed; nothing here compares them."""

import unicodedata
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from salon.models import Device
from salon.tablet import pins


class PinField(forms.CharField):
    """Six digits, in whatever script a keyboard writes them; hidden while typed."""

    def __init__(self, *, either: bool = False, **kwargs: Any) -> None:
        kwargs.setdefault("label", gettext_lazy("PIN"))
        self.either = either
        super().__init__(
            widget=forms.PasswordInput(
                {
                    "inputmode": "numeric",
                    "maxlength": pins.LENGTH,
                    # Browsers do not offer to remember such a code: the tablet is shared.
                    "autocomplete": "one-time-code",
                    "class": "pin__digits",
                    "dir": "ltr",
                }
            ),
            **kwargs,
        )

    def validate(self, value: Any) -> None:
        if not self.either:
            super().validate(value)

    def clean(self, value: Any) -> str:
        text: str = super().clean(value)
        if not text:
            return text
        if len(text) != pins.LENGTH or not text.isdecimal():
            raise forms.ValidationError(_("A PIN has six digits."))
        return "".join(str(unicodedata.decimal(digit)) for digit in text)


class PasswordField(forms.CharField):
    """The password of whoever is signed in; `either` where a PIN will do as well."""

    def __init__(self, *, either: bool = False) -> None:
        self.either = either
        super().__init__(
            label=gettext_lazy("Password"),
            strip=False,
            max_length=200,
            widget=forms.PasswordInput({"autocomplete": "current-password"}),
        )

    def validate(self, value: Any) -> None:
        if not self.either:
            super().validate(value)


class CodeField(forms.CharField):
    """Six digits of an authenticator app, or a recovery code; `either` beside a PIN."""

    def __init__(self, *, either: bool = False, **kwargs: Any) -> None:
        self.either = either
        kwargs.setdefault("label", gettext_lazy("Code from your app"))
        widget = forms.TextInput(
            {"autocomplete": "one-time-code", "autocapitalize": "none", "dir": "ltr"}
        )
        super().__init__(max_length=60, widget=widget, **kwargs)

    def validate(self, value: Any) -> None:
        if not self.either:
            super().validate(value)


class PasskeyField(forms.CharField):
    """What a passkey has signed, as static/js/passkey.js puts it there."""

    def __init__(self, *, required: bool = False) -> None:
        super().__init__(required=required, max_length=20_000, widget=forms.HiddenInput)


class PasswordForm(forms.Form):
    """The password of the person signed in, and nothing else."""

    password = PasswordField()


class UnlockForm(forms.Form):
    """PIN or password of the person signed in; the PIN only where it counts.

    Whoever came by PIN and has a second factor gives its code beside the password. A passkey
    is both.
    """

    use_required_attribute = False
    pin = PinField(either=True)
    password = PasswordField(either=True)

    def __init__(
        self,
        *args: Any,
        can_pin: bool = False,
        needs_code: bool = False,
        has_passkey: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.can_pin, self.needs_code, self.has_passkey = can_pin, needs_code, has_passkey
        if has_passkey:
            self.fields["passkey"] = PasskeyField()
        if needs_code:
            self.fields["code"] = CodeField(either=can_pin or has_passkey)
        if not can_pin:
            del self.fields["pin"]
            self.fields["password"] = PasswordField(either=has_passkey)

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("passkey"):
            return data
        if not self.errors and not data.get("pin") and not data.get("password"):
            if self.can_pin:
                self.add_error("pin", _("Enter your PIN or your password."))
            else:
                self.add_error("password", _("Enter your password."))
        if (
            self.needs_code
            and not self.errors
            and data.get("password")
            and not data.get("code")
        ):
            self.add_error("code", _("Enter the code from your app too."))
        return data


class SwitchForm(forms.Form):
    """Who takes the tablet, and their PIN."""

    staff = forms.IntegerField(
        min_value=1,
        max_value=2**62,
        error_messages={"required": gettext_lazy("Choose who you are.")},
    )
    pin = PinField()


class OwnPinForm(forms.Form):
    """A new PIN, twice, and the password."""

    pin = PinField(label=gettext_lazy("New PIN, six digits"))
    again = PinField(label=gettext_lazy("Repeat the PIN"))
    password = PasswordField()

    def clean_pin(self) -> str:
        pin: str = self.cleaned_data["pin"]
        reason = pins.weakness(pin)
        if reason:
            raise forms.ValidationError(
                _("%(reason)s Choose six digits that nobody would guess."),
                params={"reason": reason},
            )
        return pin

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("pin") and data.get("again") and data["pin"] != data["again"]:
            self.add_error("again", _("The two PINs differ."))
        return data


class DeviceForm(forms.ModelForm):
    """What the team calls a tablet or computer."""

    class Meta:
        model = Device
        fields = ["name"]
