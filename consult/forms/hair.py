"""The reading of a head: three zones and what is true of all of it."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from consult.forms.fields import Undertone
from consult.models import Banding, Density, HairFacts, Length, Scalp, Texture, ZoneReading
from consult.services.consultation import READING_FIELDS
from consult.zones import Zone
from salon.numbers import Number, WholeNumber, plain_number
from salon.widgets import Segments, Stepper

POROSITY = [
    ("-1", _("low")),
    ("-0.5", _("rather low")),
    ("0", _("normal")),
    ("0.5", _("rather high")),
    ("1", _("high")),
]
# Zones stand side by side, so the one that is meant is named.
SAME_AS_BEFORE: dict[str, Any] = {
    Zone.MID_LENGTHS: _("Same as the roots"),
    Zone.ENDS: _("Same as the mid-lengths"),
}
LEVEL: dict[str, Any] = {
    "min_value": Decimal(1),
    "max_value": Decimal(10),
    "step_size": Decimal("0.5"),
}


class ZoneForm(forms.Form):
    """One zone as the stylist reads it, or the same as the one before it, towards the roots."""

    same = forms.BooleanField(required=False)
    is_toned = forms.BooleanField(label=_("Tone this zone"), required=False, initial=True)
    natural_level = Number(label=_("Natural level"), widget=Stepper({"step": "0.5"}), **LEVEL)
    lifted_level = Number(label=_("Lifted level"), widget=Stepper({"step": "0.5"}), **LEVEL)
    undertone = Number(
        label=_("Undertone"), min_value=-1, max_value=1, initial=0, widget=Undertone()
    )
    white_percent = WholeNumber(
        label=_("White hair"),
        min_value=0,
        max_value=100,
        initial=0,
        widget=Stepper({"step": "5"}, unit="%"),
    )
    porosity = forms.TypedChoiceField(
        label=_("Porosity"), choices=POROSITY, coerce=Decimal, initial="0", widget=Segments()
    )
    banding = forms.TypedChoiceField(
        label=_("Banding"),
        choices=Banding.choices,
        required=False,
        initial=Banding.NONE,
        empty_value=Banding.NONE,
        widget=Segments(),
    )
    note = forms.CharField(
        label=_("Note"),
        required=False,
        max_length=200,
        help_text=_("Where a band runs, breakage, old colour."),
    )

    def __init__(self, *args: Any, zone: str, **kwargs: Any) -> None:
        super().__init__(*args, **{**kwargs, "prefix": zone})
        self.zone = zone
        if zone == Zone.ROOTS:
            del self.fields["same"]
        else:
            self.fields["same"].label = SAME_AS_BEFORE[zone]

    def full_clean(self) -> None:
        """Read nothing of a zone that is the same as the one before it."""
        if self.is_bound and self.is_same:
            for name in ("natural_level", "lifted_level", "undertone", "white_percent"):
                self.fields[name].required = False
            self.fields["porosity"].required = False
        super().full_clean()

    @property
    def is_same(self) -> bool:
        """Whether the box is ticked."""
        return "same" in self.fields and bool(self["same"].value())


class FactsForm(forms.Form):
    """What is true of the whole head."""

    texture = forms.ChoiceField(
        label=_("Texture"), choices=Texture.choices, initial=Texture.MEDIUM, widget=Segments()
    )
    density = forms.ChoiceField(
        label=_("Density"), choices=Density.choices, initial=Density.NORMAL, widget=Segments()
    )
    length = forms.ChoiceField(
        label=_("Length"), choices=Length.choices, initial=Length.SHOULDER, widget=Segments()
    )
    washes_since_toner = WholeNumber(
        label=_("Washes since the last toner"),
        required=False,
        min_value=0,
        max_value=400,
        widget=Stepper({"step": "1"}),
        help_text=_("Leave empty where the lengths were lightened again, or none is left."),
    )
    scalp_state = forms.ChoiceField(
        label=_("Scalp"),
        choices=Scalp.choices,
        required=False,
        widget=Segments(),
        help_text=_("As seen today. Sore or broken: no colour."),
    )
    scalp = forms.CharField(label=_("Note on the scalp"), required=False, max_length=200)


class HairForm:
    """All of the hair page: behaves as one form."""

    def __init__(
        self,
        data: Any = None,
        *,
        readings: Mapping[str, ZoneReading],
        last: Mapping[str, ZoneReading],
        facts: HairFacts | None,
        strands: Mapping[str, Any],
        washes: int | None = None,
        reached: Mapping[str, Decimal] | None = None,
    ) -> None:
        self.data = data
        self.zones = [
            ZoneForm(data, zone=zone, initial=_initial(readings or last, zone, reached or {}))
            for zone in Zone.values
        ]
        for form in self.zones:
            level = plain_number(str(form["lifted_level"].value() or ""))
            form.fields["undertone"].widget.show(strands, level)
        told = (
            {name: getattr(facts, name) for name in FactsForm.base_fields}
            if facts
            else {"washes_since_toner": washes}
        )
        self.facts = FactsForm(data, initial=told)
        self._refusals: list[str] = []

    @property
    def forms(self) -> list[forms.Form]:
        """Its parts."""
        return [*self.zones, self.facts]

    def is_valid(self) -> bool:
        """Return whether every part is valid."""
        valid = [form.is_valid() for form in self.forms]  # each shows its mistakes
        return all(valid)

    def add_error(self, field: str | None, error: str) -> None:
        """Say why the whole was refused."""
        self._refusals.append(error)

    def non_field_errors(self) -> list[str]:
        """Return why the whole was refused."""
        return self._refusals

    @property
    def errors(self) -> bool:
        """Whether anything is wrong."""
        return bool(self._refusals) or any(form.errors for form in self.forms)

    @property
    def cleaned_data(self) -> dict[str, Any]:
        """Return readings by zone, each complete, and the facts."""
        readings: dict[str, dict[str, Any]] = {}
        above: dict[str, Any] = {}
        for form in self.zones:
            told = {name: form.cleaned_data.get(name) for name in READING_FIELDS}
            if form.is_same:
                told = {**above, "is_toned": told["is_toned"], "note": told["note"]}
            readings[form.zone] = above = told
        return {"readings": readings, "facts": self.facts.cleaned_data}


def _initial(
    readings: Mapping[str, ZoneReading], zone: str, reached: Mapping[str, Decimal]
) -> dict[str, Any]:
    """Return where a zone starts: as read today, else as last time, else in the middle.

    The level that a step of today `reached` comes before all of these.
    """
    row = readings.get(zone)
    over = Zone.values[Zone.values.index(zone) - 1] if zone != Zone.ROOTS else ""
    as_over = bool(over) and reached.get(zone) == reached.get(over)
    lifted = {"lifted_level": str(reached[zone])} if zone in reached else {}
    if row is None:
        told: dict[str, Any] = {"natural_level": "6.0", "lifted_level": "8.0"} | lifted
        return told | ({"same": as_over} if over else {})
    told = {name: getattr(row, name) for name in READING_FIELDS}
    told["lifted_level"], told["natural_level"] = str(row.lifted_level), str(row.natural_level)
    told["porosity"] = f"{row.porosity.normalize():f}"
    above = readings.get(over)
    skipped = {"is_toned", "note"} | ({"lifted_level"} if zone in reached else set())
    told["same"] = (
        above is not None
        and as_over
        and all(
            getattr(row, name) == getattr(above, name)
            for name in READING_FIELDS
            if name not in skipped
        )
    )
    return told | lifted
