"""Parts of the line's shades, the bowl's weight and its time."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from consult.zones import GROUPS, Group, title
from formulas.mixing import MixingRefused, check_developer
from formulas.models import ProductLine, Shade
from salon.numbers import Number, WholeNumber
from salon.widgets import Stepper

MOST_SHADES = 6
MOST_PARTS = Decimal(20)
_PAIR = re.compile(r"([0-9]{1,12}):([0-9]{1,2}(?:\.[0-9]{1,2})?)")


@dataclass(frozen=True)
class PartRow:
    """A shade with the field of its parts."""

    shade: Shade
    field: forms.BoundField

    @property
    def is_in_the_mix(self) -> bool:
        """Whether it has parts."""
        return str(self.field.value() or "0") not in {"0", "0.0", ""}


@dataclass(frozen=True)
class Mix:
    """A mix as a form holds it."""

    zones: str
    parts: dict[int, Decimal]
    bowl_grams: Decimal
    minutes: int
    zone_minutes: dict[str, int]
    developer_percent: Decimal | None

    @classmethod
    def of(
        cls, values: Mapping[str, Any], parts: dict[int, Decimal], early: dict[str, int]
    ) -> "Mix":
        return cls(
            zones=values["zones"],
            parts=parts,
            bowl_grams=values["bowl_grams"],
            minutes=values["minutes"],
            zone_minutes=early,
            developer_percent=values["developer_percent"],
        )


@dataclass(frozen=True)
class PartRows:
    """The shades in the mix, and the others by level."""

    inside: list[PartRow]
    others: list[PartRow]


class FormulaForm(forms.Form):
    """A bowl for one group of zones: parts of any shade of the line."""

    zones = forms.ChoiceField(choices=[(k, k) for k in GROUPS], widget=forms.HiddenInput())
    bowl_grams = Number(
        label=gettext_lazy("Bowl, with developer"),
        min_value=Decimal(10),
        max_value=Decimal(400),
        max_digits=5,
        decimal_places=1,
        widget=Stepper({"step": "5"}, unit="g"),
    )
    minutes = WholeNumber(
        label=gettext_lazy("Processing time"),
        min_value=1,
        max_value=90,
        widget=Stepper({"step": "1"}, unit=gettext_lazy("min")),
    )

    developer_percent = Number(
        label=gettext_lazy("Developer, % peroxide"),
        required=False,
        min_value=Decimal(0),
        max_value=Decimal(60),
        decimal_places=2,
        widget=Stepper({"step": "0.1"}, unit="%"),
        help_text=gettext_lazy(
            "The prediction uses the line's own strength. Follow the line's instructions."
        ),
    )

    def __init__(
        self,
        *args: Any,
        line: ProductLine,
        shades: Iterable[Shade],
        groups: Iterable[str] = (),
        parts: Mapping[int, Decimal] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.line = line
        self.shades = list(shades)
        self.groups = list(groups)
        self.initial.setdefault("developer_percent", line.developer_percent)
        for key in self.groups:
            self.fields[rinse_name(key)] = WholeNumber(
                label=_("%(zones)s: only for the last") % {"zones": title(key)},
                required=False,
                min_value=1,
                max_value=90,
                widget=Stepper({"step": "1"}, unit=_("min")),
                help_text=_("Empty means as long as the rest of the bowl."),
            )
        for shade in self.shades:
            field = Number(
                label=shade.name,
                required=False,
                min_value=Decimal(0),
                max_value=MOST_PARTS,
                max_digits=4,
                decimal_places=2,
                initial=f"{(parts or {}).get(shade.pk, Decimal(0)).normalize():f}",
                widget=Stepper({"step": "1"}),
            )
            self.fields[part_name(shade.pk)] = field

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        parts = {
            shade.pk: cleaned[part_name(shade.pk)]
            for shade in self.shades
            if cleaned.get(part_name(shade.pk))
        }
        if not self.errors and not parts:
            raise forms.ValidationError(_("Enter parts for at least one shade."))
        if len(parts) > MOST_SHADES:
            raise forms.ValidationError(_("More than six shades cannot be weighed accurately."))
        cleaned["parts"] = parts
        cleaned["zone_minutes"] = self._rinsed_early(cleaned)
        cleaned.setdefault("developer_percent", None)
        if cleaned["developer_percent"] is None:
            cleaned["developer_percent"] = self.line.developer_percent
        try:
            check_developer(cleaned["developer_percent"], ratio=self.line.developer_ratio)
        except MixingRefused as refusal:
            self.add_error("developer_percent", str(refusal))
        return cleaned

    def _rinsed_early(self, cleaned: dict[str, Any]) -> dict[str, int]:
        """Return the groups of a common bowl that it stays on for fewer minutes."""
        served = set(Group(cleaned.get("zones", "")).members)
        inside = [key for key in self.groups if set(Group(key).members) < served]
        minutes = {key: cleaned.get(rinse_name(key)) for key in inside}
        time = cleaned.get("minutes")
        return {key: m for key, m in minutes.items() if m and time and m < time}

    def mix(self) -> Mix | str:
        """Return the mix in the form, or the first thing that is wrong with it."""
        if self.is_bound:
            if self.is_valid():
                values = self.cleaned_data
                return Mix.of(values, values["parts"], values["zone_minutes"])
            return str(next(iter([e for errors in self.errors.values() for e in errors]), ""))
        parts = {s.pk: Decimal(self.fields[part_name(s.pk)].initial) for s in self.shades}
        parts = {pk: part for pk, part in parts.items() if part}
        if not parts:
            return _("Enter parts for at least one shade.")
        names = {key: rinse_name(key) for key in self.groups}
        early = {k: self.initial[name] for k, name in names.items() if name in self.initial}
        return Mix.of(self.initial, parts, early)

    def rinses(self) -> list[forms.BoundField]:
        """Return the fields of the groups that a common bowl may reach last."""
        served = set(Group(str(self["zones"].value() or "")).members)
        return [
            self[rinse_name(key)] for key in self.groups if set(Group(key).members) < served
        ]

    def rows(self) -> PartRows:
        """Return the shades in the mix, and the others by level, each with its field."""
        rows = PartRows([], [])
        for shade in self.shades:
            row = PartRow(shade, self[part_name(shade.pk)])
            (rows.inside if row.is_in_the_mix else rows.others).append(row)
        return rows


def rinse_name(key: str) -> str:
    """Return the form field of a group's own processing time in a common bowl."""
    return "rinse-" + key.replace(",", "-")


def part_name(pk: int) -> str:
    """Return the form field of a shade's parts."""
    return f"parts-{pk}"


def parts_from_text(text: str, shades: Iterable[Shade]) -> dict[int, Decimal]:
    """Return parts by shade id from "12:2,15:1"; what makes no sense is left out."""
    known = {shade.pk for shade in shades}
    parts = {}
    for pair in text.split(",")[:MOST_SHADES]:
        match = _PAIR.fullmatch(pair)
        if match and int(match[1]) in known and 0 < Decimal(match[2]) <= MOST_PARTS:
            parts[int(match[1])] = Decimal(match[2])
    return parts
