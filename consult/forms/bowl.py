"""What the scale showed of one bowl."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from consult.models import Formula, FormulaLine
from consult.models.bowl import MOST_GRAMS
from formulas import mixing
from formulas.mixing import MadeFrom
from formulas.mixing_rules import table_of
from salon.numbers import Number
from salon.widgets import Stepper

# While a button is held the steps grow: a gram and a half takes a second, not fifteen taps.
HELD_STEPS = {Decimal("0.1"): "0.5 1", Decimal("0.5"): "1", Decimal(1): "5"}


def weighed(step: Decimal) -> Stepper:
    """Return the control of a weight on a scale that shows this step."""
    attrs = {"step": f"{step:f}", "data-base": "0", "data-held": HELD_STEPS[step]}
    return Stepper(attrs, unit="g")


def _percent(label: Any, help_text: Any, **changes: Any) -> Number:
    limits = {"min_value": Decimal(0), "max_value": Decimal(60), "decimal_places": 2}
    return Number(
        label=label,
        required=False,
        widget=Stepper({"step": "0.1"}, unit="%"),
        help_text=help_text,
        **{**limits, **changes},
    )


@dataclass(frozen=True)
class PouredRow:
    """The fields of what is poured from one tube or bottle."""

    poured: forms.BoundField
    in_bowl: forms.BoundField
    planned: forms.BoundField


@dataclass(frozen=True)
class ShadeRow(PouredRow):
    """The same of a shade, with its line of the formula and its batch."""

    line: FormulaLine
    batch: forms.BoundField


class BowlForm(forms.Form):
    """One bowl, line by line: planned, and as the scale showed it.

    The developer is a line like the others. Each bowl's fields have ids of their own, since
    a page may show several.
    """

    formula = forms.IntegerField(widget=forms.HiddenInput(), min_value=1)
    developer_percent = _percent(
        gettext_lazy("Strength on the developer's bottle"),
        gettext_lazy("Change it if another bottle goes into the bowl."),
    )
    stock_percent = _percent(
        gettext_lazy("Stronger bottle"),
        gettext_lazy("As on its label."),
        min_value=Decimal("0.1"),
    )
    thinner_percent = _percent(
        gettext_lazy("Diluted with"),
        gettext_lazy("0 is water: distilled, if the maker asks for it."),
    )
    developer_batch = forms.CharField(
        label=gettext_lazy("Batch"), required=False, max_length=40
    )
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=200)

    def __init__(
        self,
        *args: Any,
        mix: Formula,
        batches: dict[int, str] | None = None,
        scale_step: Decimal | None = None,
        **kwargs: Any,
    ) -> None:
        kwargs.setdefault("auto_id", f"id_bowl{mix.pk}_%s")
        super().__init__(*args, **kwargs)
        self.mix = mix
        self.scale_step = scale_step or table_of(mix.visit.salon).scale_step
        self.dilution: mixing.Dilution | None = None
        self.lines = list(mix.lines.all())
        self.initial.setdefault("formula", mix.pk)
        self.initial.setdefault("developer_percent", mix.developer_percent)
        for line in self.lines:
            key = str(line.shade_id)
            self._add_weight(f"poured-{key}", line.shade.name, line.grams, Decimal("0.1"))
            self._add_tick(key, line.shade.name, line.grams)
            self.fields[f"batch-{key}"] = forms.CharField(
                label=_("Batch"),
                required=False,
                max_length=40,
                initial=(batches or {}).get(line.shade_id, ""),
            )
        self._add_weight("developer_grams", _("Developer"), mix.developer_grams, Decimal(0))
        self._add_tick("developer", _("Developer"), mix.developer_grams)

    def _add_weight(self, name: str, label: str, planned: Decimal, least: Decimal) -> None:
        self.fields[name] = Number(
            label=label,
            initial=planned,
            min_value=least,
            max_value=MOST_GRAMS,
            decimal_places=1,
            widget=weighed(self.scale_step),
        )

    def _add_tick(self, key: str, label: str, planned: Decimal) -> None:
        self.fields[f"in_bowl-{key}"] = forms.BooleanField(
            label=_("%(name)s is in the bowl") % {"name": label}, required=False
        )
        # What the sheet last showed: a weight typed over it counts as poured.
        self.fields[f"asked-{key}"] = forms.DecimalField(
            required=False, initial=planned, widget=forms.HiddenInput()
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("developer_percent") is None:
            cleaned["developer_percent"] = self.mix.developer_percent
        if self.made_from and cleaned.get("developer_grams"):
            try:
                self.dilution = mixing.dilute_developer(
                    stronger=self.made_from.stock,
                    weaker=self.made_from.thinner,
                    wanted=cleaned["developer_percent"],
                    grams=cleaned["developer_grams"],
                )
            except mixing.MixingRefused as refusal:
                self.add_error("stock_percent", str(refusal))
        if not self.errors:
            try:
                self.mixture(self.poured, self.developer)
            except mixing.MixingRefused as refusal:
                self.add_error("developer_percent", str(refusal))
        return cleaned

    @property
    def made_from(self) -> MadeFrom | None:
        """Return the two bottles that the developer is made from, if it is."""
        stock = self.cleaned_data.get("stock_percent")
        return (
            MadeFrom(stock, self.cleaned_data.get("thinner_percent") or Decimal(0))
            if stock
            else None
        )

    def rows(self) -> list[ShadeRow]:
        """Return the lines in the order of weighing, each with its fields."""
        return [
            ShadeRow(
                poured=self[f"poured-{line.shade_id}"],
                in_bowl=self[f"in_bowl-{line.shade_id}"],
                planned=self[f"asked-{line.shade_id}"],
                line=line,
                batch=self[f"batch-{line.shade_id}"],
            )
            for line in self.lines
        ]

    @property
    def developer_row(self) -> PouredRow:
        """Return the developer's fields, as those of a shade."""
        return PouredRow(
            poured=self["developer_grams"],
            in_bowl=self["in_bowl-developer"],
            planned=self["asked-developer"],
        )

    def bottles(self) -> list[forms.BoundField]:
        """Return the fields of what the developer comes from."""
        return [self[f"{name}_percent"] for name in ("developer", "stock", "thinner")]

    @property
    def poured(self) -> dict[int, Decimal]:
        """Return the cleaned weights by shade id."""
        return {
            line.shade_id: self.cleaned_data[f"poured-{line.shade_id}"] for line in self.lines
        }

    @property
    def in_bowl(self) -> dict[int, Decimal]:
        """Return the weights of the shades that are poured: ticked, or typed over."""
        return {pk: grams for pk, grams in self.poured.items() if self._is_in(str(pk), grams)}

    @property
    def developer(self) -> Decimal:
        """Return the cleaned weight of the developer."""
        grams: Decimal = self.cleaned_data["developer_grams"]
        return grams

    @property
    def has_developer(self) -> bool:
        """Whether the developer is poured: ticked, or typed over."""
        return self._is_in("developer", self.developer)

    def _is_in(self, key: str, grams: Decimal) -> bool:
        planned = self.cleaned_data[f"asked-{key}"]
        return bool(
            self.cleaned_data[f"in_bowl-{key}"] or (planned is not None and grams != planned)
        )

    @property
    def batches(self) -> dict[int, str]:
        """Return the cleaned batches by shade id."""
        return {
            line.shade_id: self.cleaned_data[f"batch-{line.shade_id}"] for line in self.lines
        }

    def mixture(self, colour: dict[int, Decimal], developer: Decimal) -> mixing.Mixture:
        """Return ratio and peroxide of a bowl with these weights, or refuse it."""
        percent = self.mix.developer_percent
        if self.is_bound:
            percent = self.cleaned_data.get("developer_percent", percent)
        return mixing.mixture_of(
            colour_grams=sum(colour.values(), Decimal(0)),
            developer_grams=developer,
            developer_percent=percent,
        )
