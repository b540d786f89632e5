"""The reading of a head: three zones and what is true of all of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.utils.translation import gettext_lazy as _

from consult.forms.fields import Undertone
from consult.forms.zone_initial import zone_initial
from consult.hair.reading_fields import LOOKED_AT, FactsRead, HairRead, ZoneRead
from consult.models import (
    Banding,
    Density,
    HairFacts,
    Length,
    Scalp,
    Texture,
    Visit,
    Washes,
    ZoneReading,
)
from consult.zones import Zone
from formulas.drawing.strands import UndertoneStrands
from salon.numbers import Number, WholeNumber, plain_number
from salon.widgets import Segments, Stepper

POROSITY = [
    ("-1", _("low")),
    ("-0.5", _("rather low")),
    ("0", _("normal")),
    ("0.5", _("rather high")),
    ("1", _("high")),
]
# Zones are shown side by side, so the one that is meant is named.
SAME_AS_BEFORE: dict[str, Any] = {
    Zone.MID_LENGTHS: _("Same as the roots"),
    Zone.ENDS: _("Same as the mid-lengths"),
}
UNREAD = {"required": _("Not read yet.")}
LEVEL: dict[str, Any] = {
    "min_value": Decimal(1),
    "max_value": Decimal(10),
    "step_size": Decimal("0.5"),
    "error_messages": UNREAD,
}


def _stepper(step: str, start: str, unit: str = "") -> Stepper:
    """Return a stepper that is empty until pressed; the first press shows `start`."""
    return Stepper({"step": step, "data-start": start}, unit=unit)


class ZoneForm(forms.Form):
    """One zone as the stylist reads it, or the same as the one before it, towards the roots.

    Empty until touched. A zone that is `carried` over from an earlier visit shows what was
    read there; it has to be confirmed, or changed, before it counts as read today.
    """

    same = forms.BooleanField(required=False)
    confirmed = forms.BooleanField(label=_("Checked today: unchanged"), required=False)
    is_toned = forms.BooleanField(label=_("Tone this zone"), required=False, initial=True)
    natural_level = Number(label=_("Natural level"), widget=_stepper("0.5", "6"), **LEVEL)
    lifted_level = Number(label=_("Lifted level"), widget=_stepper("0.5", "8"), **LEVEL)
    undertone = Number(
        label=_("Undertone"),
        min_value=-1,
        max_value=1,
        widget=Undertone(),
        error_messages=UNREAD,
    )
    white_percent = WholeNumber(
        label=_("White hair"),
        min_value=0,
        max_value=100,
        widget=_stepper("5", "0", "%"),
        error_messages=UNREAD,
    )
    porosity = forms.TypedChoiceField(
        label=_("Porosity"),
        choices=POROSITY,
        coerce=Decimal,
        widget=Segments(),
        error_messages=UNREAD,
    )
    banding = forms.ChoiceField(
        label=_("Banding"), choices=Banding.choices, required=False, widget=Segments()
    )
    note = forms.CharField(
        label=_("Note"),
        required=False,
        max_length=200,
        help_text=_("Where the band is, breakage, old colour."),
    )

    def __init__(
        self, *args: Any, zone: str, carried: Visit | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **{**kwargs, "prefix": zone})
        self.zone = zone
        self.carried = carried
        if carried is None:
            del self.fields["confirmed"]
        if zone == Zone.ROOTS:
            del self.fields["same"]
        else:
            self.fields["same"].label = SAME_AS_BEFORE[zone]

    def full_clean(self) -> None:
        """Read nothing of a zone that is the same as the one before it."""
        if self.is_bound and self.is_same:
            for name in LOOKED_AT:
                self.fields[name].required = False
        super().full_clean()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if self.carried and not self.is_touched and not cleaned.get("confirmed"):
            self.add_error(
                "confirmed", _("Look at this zone. Confirm it, or change what is different.")
            )
        return cleaned

    def read(self, above: ZoneRead) -> ZoneRead:
        """Return what was read, taken from the zone `above` it where that is the same."""
        cleaned = self.cleaned_data
        values: ZoneRead = {
            "is_toned": cleaned["is_toned"],
            "natural_level": cleaned.get("natural_level"),
            "lifted_level": cleaned.get("lifted_level"),
            "undertone": cleaned.get("undertone"),
            "white_percent": cleaned.get("white_percent"),
            "porosity": cleaned.get("porosity"),
            "banding": cleaned["banding"],
            "note": cleaned["note"],
        }
        if self.is_same:
            values = {**above, "is_toned": values["is_toned"], "note": values["note"]}
        return {**values, "carried_from": None if self.is_touched else self.carried}

    @property
    def is_same(self) -> bool:
        """Whether the box is ticked."""
        return "same" in self.fields and bool(self["same"].value())

    @property
    def is_touched(self) -> bool:
        """Whether something was read otherwise than it was carried over."""
        changed = set(self.changed_data)
        return "same" in changed or (not self.is_same and bool(changed & {*LOOKED_AT}))


class FactsForm(forms.Form):
    """What is true of the whole head."""

    length = forms.ChoiceField(
        label=_("Length"), choices=Length.choices, widget=Segments(), error_messages=UNREAD
    )
    density = forms.ChoiceField(
        label=_("Density"), choices=Density.choices, widget=Segments(), error_messages=UNREAD
    )
    texture = forms.ChoiceField(
        label=_("Texture"), choices=Texture.choices, required=False, widget=Segments()
    )
    washes_since_toner = WholeNumber(
        label=_("Washes since the last toner"),
        required=False,
        min_value=0,
        max_value=400,
        widget=_stepper("1", "10"),
        help_text=_("Ask the client for a number, or choose below."),
    )
    washes_answer = forms.ChoiceField(
        label=_("Washes, if you have no number"),
        choices=[choice for choice in Washes.choices if choice[0] != Washes.COUNTED],
        required=False,
        widget=Segments(),
        help_text=_("Choose “No toner is left” also if the lengths were lightened again."),
    )
    scalp_state = forms.ChoiceField(
        label=_("Scalp"),
        choices=Scalp.choices,
        required=False,
        widget=Segments(),
        help_text=_("As you see it today. Sore or broken: no colour."),
    )
    scalp = forms.CharField(label=_("Note on the scalp"), required=False, max_length=200)

    def __init__(self, *args: Any, has_washes: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.has_washes = has_washes
        if not has_washes:
            del self.fields["washes_since_toner"], self.fields["washes_answer"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.has_washes or "washes_since_toner" in self.errors:
            return cleaned
        counted, answer = cleaned.get("washes_since_toner"), cleaned.get("washes_answer")
        if counted is None and not answer:
            self.add_error(
                "washes_since_toner", _("Enter a number, or choose “Not asked” below.")
            )
        elif counted is not None and answer:
            self.add_error("washes_answer", _("Enter a number or choose below, not both."))
        elif counted is not None:
            cleaned["washes_answer"] = Washes.COUNTED
        return cleaned


class HairForm:
    """All of the hair page: behaves as one form."""

    def __init__(
        self,
        data: Any = None,
        *,
        readings: Mapping[str, ZoneReading],
        facts: HairFacts | None,
        strands: UndertoneStrands,
        carried: "Carried | None" = None,
        has_washes: bool = True,
        reached: Mapping[str, Decimal] | None = None,
    ) -> None:
        """Start from today's `readings`; where there are none, from what is `carried` over."""
        self.data = data
        self.carried = None if readings else carried
        earlier = self.carried.readings if self.carried else {}
        self.zones = [
            ZoneForm(
                data,
                zone=zone,
                carried=self.carried.visit if self.carried and zone in earlier else None,
                initial=zone_initial(readings or earlier, zone, reached or {}),
            )
            for zone in Zone.values
        ]
        for form in self.zones:
            level = plain_number(str(form["lifted_level"].value() or ""))
            form.fields["undertone"].widget.show(strands, level, form["undertone"].value())
        self.facts = FactsForm(
            data, has_washes=has_washes, initial=_facts_initial(facts, self.carried)
        )
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
        """What `read` returns, as a form's values."""
        return {**self.read()}

    def read(self) -> HairRead:
        """Return readings by zone, each complete, and the facts."""
        readings, above = dict[str, ZoneRead](), ZoneRead()
        for form in self.zones:
            readings[form.zone] = above = form.read(above)
        return {"readings": readings, "facts": cast(FactsRead, self.facts.cleaned_data)}


@dataclass(frozen=True)
class Carried:
    """What an earlier visit read, offered to be confirmed."""

    visit: Visit
    readings: Mapping[str, ZoneReading]
    facts: HairFacts | None


def _facts_initial(facts: HairFacts | None, carried: Carried | None) -> dict[str, Any]:
    """Return what is shown of the whole head; of an earlier visit only what lasts."""
    if facts:
        return {name: getattr(facts, name) for name in FactsForm.base_fields}
    if carried and carried.facts:
        return {name: getattr(carried.facts, name) for name in ("length", "density", "texture")}
    return {}
