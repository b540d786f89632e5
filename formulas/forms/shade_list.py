"""A whole line at once: pasted rows, a file, or a family in words."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from formulas.forms import tubes
from formulas.models import ProductLine
from formulas.shade_list import family_rows, reading
from formulas.shade_list.headings import FIELDS
from formulas.shade_list.rows import Usual
from salon import charset
from salon.refusals import Refused
from salon.table_file import Unreadable

_MOST_LETTERS = 400_000


class ShadeListForm(forms.Form):
    """Rows of shades as text; a file or a family in words adds to the text."""

    text = forms.CharField(
        label=gettext_lazy("Rows"),
        required=False,
        max_length=_MOST_LETTERS,
        strip=False,
        widget=forms.Textarea({"rows": 8, "spellcheck": "false", "wrap": "off"}),
        help_text=gettext_lazy(
            "Copy the rows in your spreadsheet, with their headings, and paste them here. Or "
            "write one shade on each line: 8 violet-blue."
        ),
    )
    file = forms.FileField(
        label=gettext_lazy("File"),
        required=False,
        help_text=gettext_lazy("CSV, text with tabs, or an instrument's CxF3 (ISO 17972)."),
        widget=forms.FileInput({"accept": ".csv,.txt,.tsv,.cxf,.xml,text/csv"}),
    )
    encoding = forms.ChoiceField(
        label=gettext_lazy("Character set"),
        choices=[("", gettext_lazy("work it out from the file")), *charset.CHOICES],
        required=False,
    )
    family = forms.CharField(
        label=gettext_lazy("A family in words"),
        required=False,
        max_length=120,
        help_text=gettext_lazy("For example: 8 to 10, violet and pearl."),
    )
    tube_grams = tubes.tube_grams(
        required=False, help_text=gettext_lazy("For rows that give no size.")
    )
    tube_price = tubes.tube_price(
        required=False,
        help_text=gettext_lazy("For rows that give no price. Empty: no price yet."),
    )

    def __init__(self, *args: Any, line: ProductLine, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["tube_price"].label = tubes.price_label(line)

    def clean(self) -> dict[str, Any]:
        """Make one text of what was pasted, loaded and written as a family."""
        cleaned = super().clean() or {}
        cleaned["text"] = cleaned.get("text", "").replace("\x00", "")
        if cleaned.get("file"):
            self._load(cleaned)
        if cleaned.get("family") and not self.errors:
            try:
                cleaned["text"] = family_rows.with_family(cleaned["text"], cleaned["family"])
            except (ValueError, Refused) as error:
                self.add_error("family", str(error))
        if not cleaned["text"].strip() and not self.errors:
            self.add_error("text", _("Paste rows, load a file, or write a family in words."))
        return cleaned

    def _load(self, cleaned: dict[str, Any]) -> None:
        file = cleaned["file"]
        try:
            if file.size > reading.MOST_OCTETS:
                raise Unreadable(_("The file is larger than 4 MB."), code="too_large")
            encoding = cleaned.get("encoding", "")
            cleaned["text"] = reading.text_of(file.read(), encoding=encoding)[:_MOST_LETTERS]
        except Unreadable as refusal:
            self.add_error("file", str(refusal))

    @property
    def usual(self) -> Usual:
        """Size and price of a tube for rows that give none."""
        grams, price = self.cleaned_data["tube_grams"], self.cleaned_data["tube_price"]
        return Usual(grams or Decimal(60), price or Decimal(0))


class ColumnsForm(forms.Form):
    """What each column of a list of shades means."""

    def __init__(
        self,
        *args: Any,
        header: list[str],
        mapping: dict[str, str],
        samples: list[str],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        for number, title in enumerate(header):
            self.fields[f"column-{number}"] = forms.ChoiceField(
                label=title or _("Column %(n)d") % {"n": number + 1},
                choices=[("", _("do not import")), *FIELDS.items()],
                required=False,
                initial=mapping.get(str(number), ""),
                help_text=samples[number],
            )

    def clean(self) -> dict[str, Any]:
        """Refuse one meaning for two columns."""
        cleaned = super().clean() or {}
        chosen = [value for value in cleaned.values() if value]
        if len(chosen) != len(set(chosen)):
            raise forms.ValidationError(_("Two columns cannot have the same meaning."))
        return cleaned

    def mapping(self) -> dict[str, str]:
        """Return the meaning of each column by its number, as text."""
        return {
            name.removeprefix("column-"): value
            for name, value in self.cleaned_data.items()
            if value
        }
