"""Forms that place a patch test and record its reading."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.forms.health_consent import agreed_by, ask_for_consent, consent_fields
from clients.models import ReadingOutcome, Site
from clients.selectors import lines_in_use
from clients.selectors.health_consent import HealthConsent
from formulas.models import ProductLine
from salon.models import Salon
from salon.tablet.witness import WitnessForm
from salon.widgets import DateTimeInput, RadioCards


class PlaceForm(WitnessForm):
    """Where, of which line and batch, and when a test is placed."""

    line = forms.ModelChoiceField(
        label=gettext_lazy("Product line"),
        queryset=ProductLine.objects.none(),
        empty_label=None,
    )
    site = forms.ChoiceField(
        label=gettext_lazy("Site"), choices=Site.choices, initial=Site.BEHIND_LEFT_EAR
    )
    site_number = forms.IntegerField(
        label=gettext_lazy("Site number"),
        min_value=1,
        max_value=9,
        initial=1,
        required=False,
        help_text=gettext_lazy("If several products are tested at once."),
    )
    batch = forms.CharField(
        label=gettext_lazy("Batch"),
        max_length=40,
        help_text=gettext_lazy("As printed on the tube or box."),
    )
    applied_at = forms.DateTimeField(
        label=gettext_lazy("Placed at"), widget=DateTimeInput(), required=False
    )
    late_reason = forms.CharField(
        label=gettext_lazy("Why was it not entered straight away?"),
        max_length=200,
        required=False,
    )

    def __init__(
        self,
        *args: Any,
        salon: Salon,
        at: dt.datetime,
        batches: Sequence[str] = (),
        consent: HealthConsent | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        ask_for_consent(self, consent)
        self.at = at
        self.batches = batches  # what was last tested with: one tap instead of typing
        fields: dict[str, Any] = self.fields
        fields["line"].queryset = lines_in_use(salon=salon)
        fields["applied_at"].initial = at

    def clean_batch(self) -> str:
        """Keep the batch with single spaces; spaces alone are none."""
        batch = " ".join(self.cleaned_data["batch"].split())
        if not batch:
            raise forms.ValidationError(_("Enter the batch from the tube or box."))
        return batch

    def clean_site_number(self) -> int:
        return self.cleaned_data["site_number"] or 1

    def clean_applied_at(self) -> dt.datetime:
        """Take now where nothing is given; refuse the future."""
        moment: dt.datetime = self.cleaned_data["applied_at"] or self.at
        if moment > self.at:
            if moment - self.at < dt.timedelta(minutes=1):
                return self.at
            raise forms.ValidationError(
                _("This is in the future. Place the test first, then record it.")
            )
        return moment

    def record(self) -> dict[str, Any]:
        """Return what is kept of a valid form."""
        others = {"colleague", "colleague_pin", "health_consent", "guardian"}
        record = {name: v for name, v in self.cleaned_data.items() if name not in others}
        return {**record, "agreed_by": agreed_by(self)}

    def consent_fields(self) -> list[forms.BoundField]:
        """Return the question for the consent, where it is asked."""
        return consent_fields(self)


class ReadingForm(forms.Form):
    """What was seen on the skin."""

    outcome = forms.ChoiceField(
        label=gettext_lazy("What do you see?"),
        choices=ReadingOutcome.choices,
        widget=RadioCards(
            more={
                ReadingOutcome.NO_REACTION: gettext_lazy("Skin as before, nothing felt."),
                ReadingOutcome.REACTION: gettext_lazy(
                    "Any redness, itching, swelling, blisters or burning, even if it came "
                    "and went."
                ),
                ReadingOutcome.NOT_RETURNED: gettext_lazy("The test does not count."),
            }
        ),
    )
    signs = forms.CharField(
        label=gettext_lazy("Signs"),
        max_length=200,
        required=False,
        help_text=gettext_lazy("What, how big, and since when."),
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("outcome") == ReadingOutcome.REACTION and not cleaned.get("signs"):
            self.add_error("signs", _("Describe what you see."))
        return cleaned
