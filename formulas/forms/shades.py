"""The form that describes a shade."""

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from formulas.forms import tubes
from formulas.models import ProductLine, Shade
from formulas.shade_changes import ShadeChanges
from formulas.shade_list import bar_codes
from formulas.swatch_text import SwatchRefused, check_swatch, read_swatch
from formulas.tone_names import BODIES, name_of, pigments_of, tone_choices, words_of
from salon.numbers import Number
from salon.widgets import RadioCards, Segments, Stepper

WORDS, MEASURED, CLEAR = "words", "measured", "clear"
_WAYS = [
    (WORDS, gettext_lazy("By level and tone")),
    (MEASURED, gettext_lazy("From a measured swatch")),
    (CLEAR, gettext_lazy("Clear")),
]
_MORE = {
    WORDS: gettext_lazy("From the label, in plain words."),
    MEASURED: gettext_lazy("The shade on white hair, measured with an instrument. More exact."),
    CLEAR: gettext_lazy("No pigment: it makes a mix lighter."),
}


class ShadeForm(forms.Form):
    """A shade by level and tone words, or from a measured swatch, or clear."""

    way = forms.ChoiceField(
        label=gettext_lazy("How do you know the shade?"),
        choices=_WAYS,
        widget=RadioCards(more=_MORE),
        initial=WORDS,
    )
    level = Number(
        label=gettext_lazy("Level"),
        required=False,
        min_value=1,
        max_value=10,
        widget=Stepper({"min": "1", "max": "10", "step": "0.5"}),
        help_text=gettext_lazy("As on the label. Clear has no level."),
    )
    tone = forms.ChoiceField(label=gettext_lazy("Tone"), choices=(), required=False)
    body = forms.ChoiceField(
        label=gettext_lazy("How strong the tone is"),
        choices=list(BODIES.items()),
        widget=Segments(),
        required=False,
        initial="plain",
    )
    swatch = forms.CharField(
        label=gettext_lazy("Measured swatch, on white hair"),
        required=False,
        max_length=20_000,
        widget=forms.Textarea({"rows": 5, "spellcheck": "false"}),
        help_text=gettext_lazy(
            "L*, a* and b* (D65, 10 degrees); or 31 values from 400 to 700 nm; or a "
            "wavelength and its value on each line."
        ),
    )
    name = forms.CharField(
        label=gettext_lazy("Name"),
        required=False,
        max_length=60,
        help_text=gettext_lazy("In plain words. Leave it empty for a name like 8 violet-blue."),
    )
    tube_grams = tubes.tube_grams()
    tube_price = tubes.tube_price(initial=0)
    reorder_grams = Number(
        label=gettext_lazy("Order when less is left"),
        min_value=0,
        max_value=9999,
        decimal_places=1,
        required=False,
        widget=Stepper({"step": "10"}, unit="g"),
        help_text=gettext_lazy("Can stay empty: a third of a tube."),
    )
    allergens = forms.CharField(
        label=gettext_lazy("Allergen family"),
        required=False,
        max_length=120,
        help_text=gettext_lazy(
            "The dyes that its label warns of, for example toluene-2,5-diamine, resorcinol."
        ),
    )
    gtin = forms.CharField(
        label=gettext_lazy("Number under the bar code"),
        required=False,
        max_length=20,
        widget=forms.TextInput({"inputmode": "numeric", "autocomplete": "off"}),
        help_text=gettext_lazy("Scan it or type it: deliveries can then be scanned."),
    )
    is_active = forms.BooleanField(label=gettext_lazy("In use"), required=False, initial=True)
    version = forms.IntegerField(widget=forms.HiddenInput())

    def __init__(
        self,
        *args: Any,
        line: ProductLine,
        shade: Shade | None = None,
        copied: Shade | None = None,
        **kwargs: Any,
    ) -> None:
        self.line, self.shade = line, shade
        initial: dict[str, Any] = {"version": line.data_version}
        if shade:
            initial |= initial_of(shade)
        elif copied:
            initial |= {**initial_of(copied), "name": "", "gtin": ""}
        super().__init__(*args, **{**kwargs, "initial": initial})
        tones = tone_choices()
        if shade and initial.get("tone") == "own":
            tones.insert(0, ("own", _("its current pigments")))
        self.fields["tube_price"].label = tubes.price_label(line)
        self.fields["tone"].choices = tones  # type: ignore[attr-defined]

    def clean_level(self) -> Decimal | None:
        """Accept half steps only, as an eye reads them."""
        level: Decimal | None = self.cleaned_data["level"]
        if level is not None and (level * 2) % 1:
            raise forms.ValidationError(_("Levels go in half steps."))
        return level

    def clean_gtin(self) -> str:
        """Accept digits whose last one fits, and that no other shade of the line has."""
        text: str = self.cleaned_data["gtin"]
        if not text.strip():
            return ""
        try:
            digits = bar_codes.read(text)
        except bar_codes.NoBarCode as error:
            raise forms.ValidationError(str(error)) from error
        same = self.line.shades.filter(gtin=digits)
        if self.shade:
            same = same.exclude(pk=self.shade.pk)
        if same.exists():
            raise forms.ValidationError(_("Another shade of this line has this bar code."))
        return digits

    def clean(self) -> dict[str, Any]:
        """Turn words or a swatch into what the record holds."""
        cleaned = super().clean() or {}
        way = cleaned.get("way")
        if way in {WORDS, MEASURED} and cleaned.get("level") is None:
            if not self.has_error("level"):
                self.add_error("level", _("Enter the level on the label."))
        elif way == WORDS:
            self._read_words(cleaned)
        elif way == MEASURED:
            self._read_swatch(cleaned)
        elif way == CLEAR:
            cleaned |= {"level": None, "tones": {}, "reflectance": None}
            cleaned["name"] = cleaned.get("name") or _("clear")
        self._check_name(cleaned)
        return cleaned

    def fields_of_shade(self) -> ShadeChanges:
        """Return the cleaned values that the record holds."""
        cleaned = self.cleaned_data
        values: ShadeChanges = {
            "name": cleaned["name"],
            "level": cleaned["level"],
            "tones": cleaned["tones"],
            "reflectance": cleaned["reflectance"],
            "tube_grams": cleaned["tube_grams"],
            "tube_price": cleaned["tube_price"],
            "reorder_grams": cleaned["reorder_grams"],
            "allergens": cleaned["allergens"],
            "gtin": cleaned["gtin"],
        }
        if self.shade:
            values["is_active"] = cleaned["is_active"]
        return values

    def _read_words(self, cleaned: dict[str, Any]) -> None:
        tone = cleaned.get("tone")
        if not tone:
            if not self.has_error("tone"):
                self.add_error("tone", _("Choose a tone."))
            return
        cleaned["reflectance"] = None
        if tone == "own" and self.shade:
            cleaned["tones"] = self.shade.tones
            cleaned["name"] = cleaned.get("name") or self.shade.name
            return
        body = cleaned.get("body") or "plain"
        cleaned["tones"] = pigments_of(tone, body)
        cleaned["name"] = cleaned.get("name") or name_of(cleaned["level"], tone, body)

    def _read_swatch(self, cleaned: dict[str, Any]) -> None:
        text = cleaned.get("swatch", "").strip()
        cleaned["tones"] = {}
        if not text:
            if self.shade and self.shade.reflectance:
                cleaned["reflectance"] = self.shade.reflectance
            else:
                self.add_error("swatch", _("Paste what the instrument measured."))
        else:
            try:
                cleaned["reflectance"] = read_swatch(text)
                check_swatch(cleaned["reflectance"], level=cleaned["level"])
            except SwatchRefused as refusal:
                self.add_error("swatch", str(refusal))
        if not cleaned.get("name"):
            self.add_error("name", _("A measured shade needs a name."))

    def _check_name(self, cleaned: dict[str, Any]) -> None:
        name = cleaned.get("name", "").strip()
        cleaned["name"] = name
        same = self.line.shades.filter(name=name)
        if self.shade:
            same = same.exclude(pk=self.shade.pk)
        if name and same.exists():
            self.add_error("name", _("This line already has a shade with this name."))


def initial_of(shade: Shade) -> dict[str, Any]:
    """Return what the form shows of a shade: the words that its pigments mean, if any do."""
    initial: dict[str, Any] = {
        "name": shade.name,
        "level": shade.level,
        "tube_grams": shade.tube_grams,
        "tube_price": shade.tube_price,
        "reorder_grams": shade.reorder_grams,
        "allergens": shade.allergens,
        "gtin": shade.gtin,
        "is_active": shade.is_active,
        "way": MEASURED if shade.reflectance else CLEAR if shade.level is None else WORDS,
    }
    found = words_of(shade.tones)
    initial |= {"tone": found[0], "body": found[1]} if found else {"tone": "own"}
    return initial
