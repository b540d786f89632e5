"""Forms about a client's details and alerts."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import AlertKind, Client
from salon import languages
from salon.models import Salon
from salon.selectors import columns
from salon.widgets import DateInput

OLDEST_YEARS = 120


@dataclass(frozen=True)
class Difference:
    """A field whose saved value and typed value differ."""

    label: str
    theirs: str
    yours: str


class ClientForm(forms.ModelForm):
    """What the desk asks of a client; the name in one piece, as they give it."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    is_someone_else = forms.BooleanField(
        label=gettext_lazy("This is someone else"), required=False
    )

    birth_reason = forms.CharField(
        label=gettext_lazy("Why change the birth date?"),
        max_length=200,
        required=False,
        help_text=gettext_lazy("Only the owner can make a young client older."),
    )

    class Meta:
        model = Client
        fields = [
            "name",
            "known_as",
            "phone",
            "email",
            "birth_date",
            "preferred_stylist",
            "contact_by",
            "language",
            "retone_weeks",
            "note",
        ]
        widgets = {
            "birth_date": DateInput(),
            "name": forms.TextInput({"autocomplete": "off", "dir": "auto"}),
            "known_as": forms.TextInput({"autocomplete": "off", "dir": "auto"}),
            "phone": forms.TextInput({"inputmode": "tel", "autocomplete": "off"}),
            "email": forms.EmailInput({"autocomplete": "off"}),
            "note": forms.TextInput({"dir": "auto", "autocomplete": "off"}),
        }
        help_texts = {
            "name": gettext_lazy("The full name, the way the client writes it."),
            "birth_date": gettext_lazy("Needed for colour: there is a minimum age."),
            "language": gettext_lazy("For cards, slips, reminders and what the client signs."),
            "retone_weeks": gettext_lazy("For the reminder that the next toner is due."),
        }
        error_messages = {
            "phone": {
                "invalid": gettext_lazy(
                    "This is not a valid phone number. Include the area code, or start with +."
                )
            }
        }

    def __init__(self, *args: Any, salon: Salon, today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        fields: dict[str, Any] = self.fields
        fields["preferred_stylist"].queryset = columns(salon=salon)
        # The browser would cut a longer name without a word: the form says it instead.
        fields["name"].widget.attrs.pop("maxlength", None)
        fields["language"].choices = [("", _("same as the salon")), *languages.choices()]
        fields["phone"].region = salon.region
        fields["phone"].error_messages["invalid"] = self.Meta.error_messages["phone"]["invalid"]
        if self.instance.pk:
            fields["version"].initial = self.instance.version
        if self.instance.birth_date is None:
            del fields["birth_reason"]

    def clean_birth_date(self) -> dt.date | None:
        """Refuse a date that nobody alive can have."""
        born: dt.date | None = self.cleaned_data["birth_date"]
        if born and born > self.today:
            raise forms.ValidationError(_("This is in the future. Check the date."))
        if born and born.year < self.today.year - OLDEST_YEARS:
            raise forms.ValidationError(_("This is more than 120 years ago. Check the year."))
        return born

    def clean_name(self) -> str:
        """Keep the name as given, with single spaces."""
        return " ".join(self.cleaned_data["name"].split())

    def record(self) -> dict[str, Any]:
        """Return what is kept of a valid form."""
        return {name: self.cleaned_data[name] for name in self.Meta.fields}

    def differences(self, current: Client) -> list[Difference]:
        """Return the fields in which a valid form differs from what is saved now."""
        found = []
        for name in self.Meta.fields:
            theirs, yours = getattr(current, name), self.cleaned_data.get(name)
            if theirs != yours:
                label = str(self.fields[name].label)
                found.append(Difference(label, str(theirs or "–"), str(yours or "–")))
        return found


class AlertForm(forms.Form):
    """Something everyone must see."""

    kind = forms.ChoiceField(
        label=gettext_lazy("Kind"),
        choices=[c for c in AlertKind.choices if c[0] != AlertKind.REACTION],
    )
    text = forms.CharField(
        label=gettext_lazy("Details"),
        max_length=200,
        widget=forms.TextInput({"dir": "auto", "autocomplete": "off"}),
    )


class LiftForm(forms.Form):
    """Why an alert no longer holds."""

    text = forms.CharField(
        label=gettext_lazy("Why remove this alert?"),
        max_length=200,
        widget=forms.TextInput({"autocomplete": "off"}),
    )
