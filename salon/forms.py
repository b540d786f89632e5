"""Text in, Python values out."""

from django import forms
from django.contrib.auth import password_validation
from django.utils.translation import gettext_lazy as _

from salon import languages
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
        help_text=_("At least 12 characters. Hand it over in person."),
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

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        password_validation.validate_password(password, self.instance)
        return password


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
        ]
