"""What the dry hair shows, beside what was predicted: one form for all that was toned."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from consult.bench.look import Look
from consult.forms.fields import Strands
from consult.models import ClientWord, Evenness
from formulas.drawing.strands import ComparedStrand
from salon.widgets import Segments


@dataclass(frozen=True)
class Compared:
    """The strands of one group of zones: from lighter to deeper, from warmer to cooler."""

    depth: Sequence[ComparedStrand]
    warmth: Sequence[ComparedStrand]


@dataclass(frozen=True)
class ResultSection:
    """A group of zones with its fields."""

    key: str
    depth: forms.BoundField
    warmth: forms.BoundField
    unseen: forms.BoundField


class ResultForm(forms.Form):
    """Empty until looked at. A zone that nobody looked at says so, and teaches nothing."""

    def __init__(self, *args: Any, groups: Mapping[str, Compared], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.groups = groups
        for key, strands in groups.items():
            name = key.replace(",", "-")
            self.fields[f"{name}-depth"] = _steps(_("Lighter or deeper?"), strands.depth)
            self.fields[f"{name}-warmth"] = _steps(_("Warmer or cooler?"), strands.warmth)
            self.fields[f"{name}-unseen"] = forms.BooleanField(
                label=_("Not checked"), required=False
            )
        self.fields["evenness"] = forms.ChoiceField(
            label=_("Evenness"), choices=Evenness.choices, required=False, widget=Segments()
        )
        self.fields["client_word"] = forms.ChoiceField(
            label=_("How happy is the client?"),
            choices=ClientWord.choices,
            required=False,
            widget=Segments(),
        )
        self.fields["note"] = forms.CharField(
            label=_("Note"), required=False, max_length=400, widget=forms.TextInput()
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for key in self.groups:
            name = key.replace(",", "-")
            seen = [part for part in ("depth", "warmth") if cleaned.get(f"{name}-{part}")]
            if cleaned.get(f"{name}-unseen"):
                if seen:
                    self.add_error(
                        f"{name}-unseen", _("Choose a strand or “Not checked”, not both.")
                    )
                continue
            for part in ("depth", "warmth"):
                if part not in seen and f"{name}-{part}" not in self.errors:
                    self.add_error(
                        f"{name}-{part}",
                        _("Press the strand that looks the same, or “Not checked”."),
                    )
        return cleaned

    def sections(self) -> list[ResultSection]:
        """Return the groups with their fields, for the page."""
        return [
            ResultSection(
                key=key,
                depth=self[f"{key.replace(',', '-')}-depth"],
                warmth=self[f"{key.replace(',', '-')}-warmth"],
                unseen=self[f"{key.replace(',', '-')}-unseen"],
            )
            for key in self.groups
        ]

    @property
    def looks(self) -> dict[str, Look | None]:
        """Return what was seen by group; None where nobody looked."""
        found: dict[str, Look | None] = {}
        for key in self.groups:
            name = key.replace(",", "-")
            unseen = self.cleaned_data.get(f"{name}-unseen")
            found[key] = (
                None
                if unseen
                else Look(
                    deeper=float(self.cleaned_data[f"{name}-depth"]),
                    warmer=float(self.cleaned_data[f"{name}-warmth"]),
                )
            )
        return found


def _steps(label: Any, strands: Sequence[ComparedStrand]) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label,
        choices=[(f"{strand.step:g}", strand.label) for strand in strands],
        required=False,
        widget=Strands([strand.hex for strand in strands]),
    )
