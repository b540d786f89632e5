"""Tests on the hair, and steps before the toner."""

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from consult import zones
from consult.forms.fields import SegmentsMany
from consult.forms.hair import LEVEL
from consult.hair.pretests import ADVICE
from consult.models import RESULTS, PreTestKind, StepKind, VisitStep
from consult.zones import Zone
from salon.numbers import Number, WholeNumber
from salon.widgets import RadioCards, Segments, Stepper, TimeInput

RATIOS = [("", _("none")), ("1", "1 : 1"), ("1.5", "1 : 1.5"), ("2", "1 : 2"), ("3", "1 : 3")]


class PreTestForm(forms.Form):
    """What one test on the hair showed."""

    kind = forms.ChoiceField(choices=PreTestKind.choices, widget=forms.HiddenInput())
    zone = forms.ChoiceField(
        label=_("Where"),
        required=False,
        choices=[("", _("all of the hair")), *Zone.choices],
        initial="",
        widget=Segments(),
    )
    result = forms.ChoiceField(
        label=_("Result"),
        widget=RadioCards(more=ADVICE),
        error_messages={"required": _("Enter what the test showed.")},
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=200)

    def __init__(self, data: Any = None, *, kind: str) -> None:
        super().__init__(data, initial={"kind": kind}, auto_id=f"id_{kind}_%s")
        result = self.fields["result"]
        result.choices = [(row.value, row.label) for row in RESULTS[kind]]  # type: ignore[attr-defined]
        if kind == PreTestKind.INCOMPATIBILITY:
            del self.fields["zone"]


class StepForm(forms.Form):
    """One step as it was done."""

    kind = forms.ChoiceField(
        label=_("What"),
        choices=StepKind.choices,
        initial=StepKind.LIGHTENING,
        widget=Segments(),
    )
    product = forms.CharField(
        label=_("Product"), max_length=120, widget=forms.TextInput({"autocomplete": "off"})
    )
    zones = forms.MultipleChoiceField(
        label=_("Where"),
        choices=Zone.choices,
        initial=list(Zone.values),
        widget=SegmentsMany(),
        error_messages={"required": _("Choose at least one zone.")},
    )
    developer_percent = Number(
        label=_("Developer"),
        required=False,
        min_value=Decimal("0.1"),
        max_value=Decimal(40),
        decimal_places=2,
        widget=Stepper({"step": "0.5"}, unit="%"),
        help_text=_("Peroxide as printed on the bottle. Leave empty if none was used."),
    )
    developer_ratio = forms.TypedChoiceField(
        label=_("Product to developer"),
        required=False,
        choices=RATIOS,
        coerce=Decimal,
        empty_value=None,
        initial="",
        widget=Segments(),
    )
    started = forms.TimeField(
        label=_("Started at"), required=False, widget=TimeInput(step_minutes=1)
    )
    minutes = WholeNumber(
        label=_("On the hair"),
        required=False,
        min_value=1,
        max_value=600,
        widget=Stepper({"step": "5"}, unit=_("min")),
    )
    uses_heat = forms.BooleanField(label=_("With heat"), required=False)
    heat_note = forms.CharField(
        label=_("Which heat"),
        required=False,
        max_length=120,
        help_text=_("Cap, lamp or other warmth."),
    )
    level_reached = Number(
        label=_("Level reached"),
        required=False,
        widget=Stepper({"step": "0.5"}),
        help_text=_("This becomes the lifted level when you read the hair."),
        **LEVEL,
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=200)

    def __init__(
        self, data: Any = None, *, at: dt.datetime, step: VisitStep | None = None
    ) -> None:
        self._at = at
        super().__init__(data, initial=_step_initial(step, at) if step else {})

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        started = cleaned.pop("started", None)
        if "zones" in cleaned:
            cleaned["zones"] = zones.Group.of(cleaned["zones"])
        if not cleaned.get("uses_heat"):
            cleaned["heat_note"] = ""
        cleaned["started_at"] = (
            dt.datetime.combine(self._at.date(), started, tzinfo=self._at.tzinfo)
            if started
            else None
        )
        if cleaned["started_at"] and cleaned["started_at"] > self._at:
            self.add_error("started", _("The start is in the future. Check the time."))
        if bool(cleaned.get("developer_percent")) != bool(cleaned.get("developer_ratio")):
            self.add_error(
                "developer_ratio",
                _("Enter both the developer's strength and its ratio, or neither."),
            )
        return cleaned


def _step_initial(step: VisitStep, at: dt.datetime) -> dict[str, Any]:
    """Return a step as its form shows it."""
    names: Iterable[str] = (
        "kind", "product", "developer_percent", "minutes", "uses_heat", "heat_note",
        "level_reached", "note",
    )  # fmt: skip
    ratio = step.developer_ratio
    begun = step.started_at.astimezone(at.tzinfo).time() if step.started_at else None
    return {name: getattr(step, name) for name in names} | {
        "zones": list(zones.Group(step.zones).members),
        "developer_ratio": f"{ratio.normalize():f}" if ratio else "",
        "started": begun,
    }
