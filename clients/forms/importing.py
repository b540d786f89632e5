from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.people.import_rows import FIELDS


class ImportFileForm(forms.Form):
    """A file of clients: CSV or vCard."""

    file = forms.FileField(
        label=gettext_lazy("File"),
        help_text=gettext_lazy("CSV or vCard, 25 MB and 60,000 rows at most."),
        widget=forms.ClearableFileInput({"accept": ".csv,.txt,.tsv,.vcf,text/csv,text/vcard"}),
    )
    encoding = forms.ChoiceField(
        label=gettext_lazy("Letters"),
        required=False,
        choices=[
            ("", gettext_lazy("UTF-8 (usual)")),
            ("cp1252", gettext_lazy("Western European (Windows)")),
            ("cp1250", gettext_lazy("Central European (Windows)")),
        ],
    )


class MappingForm(forms.Form):
    """What each column of a loaded file means."""

    def __init__(
        self, *args: Any, header: list[str], mapping: dict[str, str], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        for number, title in enumerate(header):
            self.fields[f"column-{number}"] = forms.ChoiceField(
                label=title or _("Column %(n)d") % {"n": number + 1},
                choices=[("", _("leave out")), *FIELDS.items()],
                required=False,
                initial=mapping.get(str(number), ""),
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        chosen = [value for value in cleaned.values() if value]
        if "name" not in chosen:
            raise forms.ValidationError(_("Say which column holds the name."))
        if len(chosen) != len(set(chosen)):
            raise forms.ValidationError(_("Two columns cannot mean the same."))
        return cleaned

    def mapping(self) -> dict[str, str]:
        """Return the meaning of each column by its number, as text."""
        return {
            name.removeprefix("column-"): value
            for name, value in self.cleaned_data.items()
            if value
        }
