"""Text in, Python values out."""

import zoneinfo
from typing import Any

import phonenumbers
from django import forms
from django.contrib.auth import password_validation
from django.contrib.auth.forms import SetPasswordForm
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from salon import languages, passwords, selectors, user_names
from salon.models import Policy, Salon, Staff
from salon.models.salon import validate_country


class SalonForm(forms.ModelForm):
    """What the salon is called, where it is and how it is reached."""

    phone = forms.CharField(
        label=_("Phone"),
        max_length=40,
        widget=forms.TextInput({"type": "tel", "autocomplete": "tel"}),
        help_text=_("On every slip: a client with a reaction rings this number."),
    )
    country = forms.CharField(
        label=_("Country"),
        max_length=2,
        widget=forms.TextInput({"autocomplete": "country", "autocapitalize": "characters"}),
        help_text=_(
            "Two letters, for example IE or DE: for phone numbers typed without a country, and "
            "for public holidays."
        ),
    )
    time_zone = forms.ChoiceField(
        label=_("Time zone"),
        help_text=_(
            "Existing bookings do not move, but their clock time is shown differently."
        ),
    )
    currency = forms.RegexField(
        r"\A[A-Za-z]{3}\Z",
        label=_("Currency"),
        error_messages={"invalid": _("Write three letters, for example EUR.")},
        help_text=_("Three letters. Prices keep their number."),
    )

    class Meta:
        model = Salon
        fields = ["name", "country", "phone", "email", "address", "time_zone", "currency"]
        help_texts = {"email": _("Answers to the salon’s mails go here.")}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["country"] = self.instance.region
        known = zoneinfo.available_timezones()
        names = sorted(zone for zone in known if "/" in zone or zone == "UTC")
        self.fields["time_zone"].choices = [(n, n.replace("_", " ")) for n in names]  # type: ignore[attr-defined]

    def clean_country(self) -> str:
        """Write the code in capitals."""
        code: str = self.cleaned_data["country"]
        validate_country(code.upper())
        return code.upper()

    def clean_phone(self) -> str:
        """Accept a number that exists, and write it in groups with its country."""
        text: str = self.cleaned_data["phone"]
        try:
            number = phonenumbers.parse(
                text, self.cleaned_data.get("country") or self.instance.region
            )
        except phonenumbers.NumberParseException:
            number = None
        if number is None or not phonenumbers.is_valid_number(number):
            raise forms.ValidationError(
                _("This is not a valid phone number. Example: +44 20 7946 0958.")
            )
        style = phonenumbers.PhoneNumberFormat.INTERNATIONAL
        return str(phonenumbers.format_number(number, style))

    def clean_currency(self) -> str:
        """Write the code in capitals."""
        code: str = self.cleaned_data["currency"]
        return code.upper()


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
            "photos_keep_years",
            "messages_keep_months",
            "idle_lock_minutes",
            "owners_need_second_factor",
        ]
