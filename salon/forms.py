"""Text in, Python values out."""

from typing import Any

from django import forms
from django.contrib.auth import password_validation
from django.contrib.auth.forms import SetPasswordForm
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from salon import languages, passwords, selectors, user_names
from salon.models import Policy, Staff


class MemberForm(forms.ModelForm):
    """Who someone is in the salon, and whether they may sign in."""

    class Meta:
        model = Staff
        fields = [
            "display_name",
            "role",
            "email",
            "has_column",
            "may_import_lists",
            "is_active",
        ]


class NewMemberForm(MemberForm):
    """Someone new, with the name and password that they first sign in with."""

    password = forms.CharField(
        label=_("First password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        max_length=passwords.MOST,
        help_text=_(
            "At least 15 characters. Hand it over in person: it is changed at the first"
            " sign-in."
        ),
    )

    class Meta(MemberForm.Meta):
        fields = [
            "display_name",
            "username",
            "role",
            "email",
            "has_column",
            "may_import_lists",
        ]

    def clean_username(self) -> str:
        name = user_names.normalized(self.cleaned_data["username"])
        if selectors.is_taken(username=name):
            raise forms.ValidationError(_("Someone already signs in with this name."))
        if selectors.looks_like_another(username=name):
            raise forms.ValidationError(
                _("Someone signs in with a name that looks like this one.")
            )
        return name

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]
        password = self.cleaned_data.get("password")
        if password:  # the names are known by now
            try:
                password_validation.validate_password(password, self.instance)
            except forms.ValidationError as error:
                self.add_error("password", error)


class OwnPasswordForm(SetPasswordForm):
    """A new password, twice, and the current one; `SetPasswordForm` asks the validators."""

    current = forms.CharField(
        label=_("Current password"),
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    field_order = ["current", "new_password1", "new_password2"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["new_password1"].help_text = gettext(
            "At least %(least)s characters, not your name and not the salon’s."
        ) % {"least": passwords.least_for(self.user)}
        self.fields["new_password2"].help_text = ""


class LanguageForm(forms.Form):
    """One of the languages on offer."""

    language = forms.ChoiceField(choices=languages.choices)


class PolicyForm(forms.ModelForm):
    """The salon's rules on patch tests, age and screens left alone."""

    class Meta:
        model = Policy
        fields = [
            "patch_lead_hours",
            "patch_read_hours",
            "patch_valid_months",
            "minimum_age",
            "records_keep_years",
            "idle_lock_minutes",
            "owners_need_second_factor",
        ]
