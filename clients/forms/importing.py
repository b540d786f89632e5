"""Forms that take in a list of clients and correct its values."""

import datetime as dt
from typing import Any

from django import forms
from django.core.validators import validate_email
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from phonenumber_field.formfields import PhoneNumberField

from clients.models import ValueField, ValueToCorrect
from clients.people import import_dates
from clients.people.import_rows import FIELDS
from salon import charset

_LONGEST = {"name": 120, "known_as": 60, "email": 254, "note": 300}


class ImportFileForm(forms.Form):
    """A file of clients: CSV or vCard."""

    file = forms.FileField(
        label=gettext_lazy("File"),
        help_text=gettext_lazy("CSV or vCard, up to 25 MB and 60,000 rows."),
        widget=forms.ClearableFileInput({"accept": ".csv,.txt,.tsv,.vcf,text/csv,text/vcard"}),
    )


class MappingForm(forms.Form):
    """How a loaded file is read: its letters, its dates, and what each column means."""

    encoding = forms.ChoiceField(
        label=gettext_lazy("Character set"),
        choices=charset.CHOICES,
        required=False,
        help_text=gettext_lazy("Choose another one if accents or umlauts look wrong."),
    )
    date_order = forms.ChoiceField(
        label=gettext_lazy("Dates with slashes"),
        required=False,
        choices=[
            ("", gettext_lazy("work it out from the column")),
            (import_dates.DAY_FIRST, gettext_lazy("day first (31/12/1990)")),
            (import_dates.MONTH_FIRST, gettext_lazy("month first (12/31/1990)")),
        ],
    )

    def __init__(
        self,
        *args: Any,
        header: list[str],
        mapping: dict[str, str],
        samples: list[str] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        for number, title in enumerate(header):
            self.fields[f"column-{number}"] = forms.ChoiceField(
                label=title or _("Column %(n)d") % {"n": number + 1},
                choices=[("", _("do not import")), *FIELDS.items()],
                required=False,
                initial=mapping.get(str(number), ""),
                help_text=samples[number] if samples else "",
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        chosen = list(self.mapping().values())
        if "name" not in chosen:
            raise forms.ValidationError(_("Choose the column with the name."))
        if len(chosen) != len(set(chosen)):
            raise forms.ValidationError(_("Two columns cannot have the same meaning."))
        return cleaned

    def mapping(self) -> dict[str, str]:
        """Return the meaning of each column by its number, as text."""
        return {
            name.removeprefix("column-"): value
            for name, value in self.cleaned_data.items()
            if name.startswith("column-") and value
        }


class ValuesForm(forms.Form):
    """Values of a list with a field each, as they are written, to correct or to remove.

    What is left as it was stays on the worklist.
    """

    def __init__(
        self,
        *args: Any,
        values: list[ValueToCorrect],
        today: dt.date,
        region: str = "",
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.values, self.today, self.region = values, today, region
        for value in values:
            limit = None if value.field == ValueField.BIRTH_DATE else 4000
            self.fields[f"value-{value.pk}"] = forms.CharField(
                label=value.get_field_display(),
                required=False,
                initial=value.text,
                max_length=limit,
                widget=forms.TextInput({"autocomplete": "off", "dir": "auto"}),
            )
            self.fields[f"remove-{value.pk}"] = forms.BooleanField(
                label=_("Remove from this list"), required=False
            )
            self.fields[f"version-{value.pk}"] = forms.IntegerField(
                required=False, widget=forms.HiddenInput
            )

    def rows(self) -> list[tuple[ValueToCorrect, forms.BoundField, forms.BoundField]]:
        """Return each value with its two fields."""
        return [(v, self[f"value-{v.pk}"], self[f"remove-{v.pk}"]) for v in self.values]

    def clean(self) -> dict[str, Any]:
        """Collect what was corrected and what was removed."""
        cleaned = super().clean() or {}
        self.removed = {v.pk for v in self.values if cleaned.get(f"remove-{v.pk}")}
        self.versions = {v.pk: cleaned.get(f"version-{v.pk}") or 0 for v in self.values}
        self.corrected: dict[int, Any] = {}
        for value in self.values:
            text = " ".join(cleaned.get(f"value-{value.pk}", "").split())
            if value.pk in self.removed or text in {"", value.text}:
                continue
            try:
                self.corrected[value.pk] = self._read(value.field, text)
            except forms.ValidationError as error:
                self.add_error(f"value-{value.pk}", error)
        return cleaned

    def _read(self, field: str, text: str) -> Any:
        """Return the value as the client's record keeps it."""
        if field == ValueField.PHONE:
            return PhoneNumberField(region=self.region or None).clean(text)
        if field == ValueField.EMAIL:
            validate_email(text)
        if field == ValueField.BIRTH_DATE:
            return self._date(text)
        most = _LONGEST.get(field, len(text))
        if len(text) > most:
            long = _("Too long: %(most)d characters at most.") % {"most": most}
            raise forms.ValidationError(long)
        return text

    def _date(self, text: str) -> dt.date:
        try:
            return import_dates.read(text, order=import_dates.UNCLEAR, today=self.today)
        except import_dates.NotADate as error:
            message = _("Write the birth date with its year in full, for example 1990-04-03.")
            raise forms.ValidationError(message) from error


class AlikeForm(forms.Form):
    """One text that several clients have in one field."""

    field = forms.ChoiceField(choices=ValueField.choices)
    text = forms.CharField(strip=False)
