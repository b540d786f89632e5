"""Forms about consents and about what was done to the hair before."""

import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import PLAIN_KINDS, Client, HairWork, Origin
from clients.people.age import ADULT_AGE
from clients.people.consent_texts import consent_wording
from salon.widgets import DateInput, Segments


class ConsentForm(forms.Form):
    """One consent, given or withdrawn; the words are the ones shown."""

    kind = forms.ChoiceField(
        choices=[(kind.value, kind.label) for kind in PLAIN_KINDS], widget=forms.HiddenInput
    )
    is_given = forms.TypedChoiceField(
        choices=[("1", ""), ("0", "")],
        coerce=lambda value: value == "1",
        widget=forms.HiddenInput,
    )

    guardian = forms.CharField(
        label=gettext_lazy("Name of the parent or guardian who agrees"),
        max_length=120,
        required=False,
    )

    def __init__(self, *args: Any, is_minor: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.is_minor = is_minor

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        data["guardian"] = " ".join(data.get("guardian", "").split()) if self.is_minor else ""
        if self.is_minor and data.get("is_given") and not data["guardian"]:
            self.add_error(
                "guardian",
                _("Under %(age)d a parent or guardian agrees.") % {"age": ADULT_AGE},
            )
        return data

    def wording(self, client: Client) -> str:
        """Return the words of a valid form's consent, as they were read."""
        by_guardian = bool(self.cleaned_data["guardian"])
        return consent_wording(client, self.cleaned_data["kind"], by_guardian=by_guardian)


class HairHistoryForm(forms.Form):
    """Something that was done to the hair, with about when."""

    work = forms.ChoiceField(label=gettext_lazy("What"), choices=HairWork.choices)
    origin = forms.ChoiceField(
        label=gettext_lazy("Source"),
        choices=Origin.choices,
        widget=Segments(),
        initial=Origin.REPORTED,
    )
    happened_date = forms.DateField(label=gettext_lazy("When, roughly"), widget=DateInput())
    note = forms.CharField(
        label=gettext_lazy("Note"),
        max_length=200,
        required=False,
        widget=forms.TextInput({"dir": "auto", "autocomplete": "off"}),
    )

    def __init__(self, *args: Any, today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def clean_happened_date(self) -> dt.date:
        happened: dt.date = self.cleaned_data["happened_date"]
        if happened > self.today:
            raise forms.ValidationError(_("This is in the future. Check the date."))
        if happened.year < self.today.year - 60:
            raise forms.ValidationError(_("Check the year."))
        return happened
