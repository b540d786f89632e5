import datetime as dt

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import AlertKind, Client
from salon.models import Salon
from salon.selectors import columns
from salon.widgets import DateInput

OLDEST_YEARS = 120


class ClientForm(forms.ModelForm):
    """What the desk asks of a client; the name in one piece, as they give it."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    class Meta:
        model = Client
        fields = [
            "name",
            "known_as",
            "phone",
            "email",
            "birth_date",
            "preferred_stylist",
            "note",
        ]
        widgets = {
            "birth_date": DateInput(),
            "name": forms.TextInput({"autocomplete": "off", "dir": "auto"}),
            "known_as": forms.TextInput({"autocomplete": "off", "dir": "auto"}),
            "phone": forms.TextInput({"inputmode": "tel", "autocomplete": "off"}),
        }
        help_texts = {
            "name": gettext_lazy("In full, in the client's own order and script."),
            "birth_date": gettext_lazy("Colour is refused without it: age is checked."),
        }
        error_messages = {
            "phone": {
                "invalid": gettext_lazy(
                    "This is no phone number. Write it with its area code, or start with +."
                )
            }
        }

    def __init__(self, *args: object, salon: Salon, today: dt.date, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["preferred_stylist"].queryset = columns(salon=salon)
        if self.instance.pk:
            self.fields["version"].initial = self.instance.version

    def clean_birth_date(self) -> dt.date | None:
        """Refuse a date that nobody alive can have."""
        born: dt.date | None = self.cleaned_data["birth_date"]
        if born and born > self.today:
            raise forms.ValidationError(_("This lies in the future."))
        if born and born.year < self.today.year - OLDEST_YEARS:
            raise forms.ValidationError(_("This is more than 120 years ago. Check the year."))
        return born


class AlertForm(forms.Form):
    """Something everyone must see."""

    kind = forms.ChoiceField(
        label=gettext_lazy("Kind"),
        choices=[c for c in AlertKind.choices if c[0] != AlertKind.REACTION],
    )
    text = forms.CharField(label=gettext_lazy("What to know"), max_length=200)
