"""Who forgot their password, and the new one."""

from typing import Any

from django import forms
from django.contrib.auth.forms import SetPasswordForm
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from salon import passwords
from salon.models import Staff
from salon.reset_by_mail import services


class ForgottenForm(forms.Form):
    """The name that somebody signs in with."""

    username = forms.CharField(
        label=_("Sign-in name"),
        max_length=60,
        widget=forms.TextInput({"autocomplete": "username", "autocapitalize": "none"}),
    )


class NewPasswordForm(SetPasswordForm):
    """A new password, twice; `SetPasswordForm` asks the validators."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["new_password1"].help_text = gettext(
            "At least %(least)s characters, not your name and not the salon’s."
        ) % {"least": passwords.least_for(self.user)}
        self.fields["new_password2"].help_text = ""

    def save(self, commit: bool = True) -> Staff:
        """Set it, and end every session."""
        password = self.cleaned_data["new_password1"]
        return services.finish_reset(member=self.user, password=password, at=timezone.now())
