"""The form that merges two entries of one person."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from clients.models import Client
from clients.models.merge import KEPT_VALUES
from salon.tablet.witness import WitnessForm

_LABELS = {
    "name": gettext_lazy("Name"),
    "known_as": gettext_lazy("Known as"),
    "phone": gettext_lazy("Phone"),
    "email": gettext_lazy("E-mail"),
    "birth_date": gettext_lazy("Birth date"),
    "note": gettext_lazy("Note for the desk"),
}


class MergeForm(WitnessForm):
    """Which values stay where two entries differ, and whether it is one body."""

    is_same_body = forms.BooleanField(
        label=gettext_lazy("We have checked: both entries are the same person."),
        required=False,
        help_text=gettext_lazy(
            "Until you confirm this, patch tests of the second entry do not count. "
            "Reactions count at once."
        ),
    )

    def __init__(self, *args: Any, kept: Client, merged: Client, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.merged = merged
        fields: dict[str, Any] = self.fields
        for name in KEPT_VALUES:
            first, second = getattr(kept, name), getattr(merged, name)
            if first == second or not second:
                continue
            fields[f"stays_{name}"] = forms.ChoiceField(
                label=_LABELS[name],
                choices=[("kept", str(first or "–")), ("merged", str(second))],
                widget=forms.RadioSelect,
                initial="kept" if first else "merged",
                required=False,
            )

    @property
    def differing(self) -> list[forms.BoundField]:
        """The fields in which the two entries differ."""
        return [self[name] for name in self.fields if name.startswith("stays_")]

    def values(self) -> dict[str, object]:
        """Return what the kept entry takes over."""
        return {
            name: getattr(self.merged, name)
            for name in KEPT_VALUES
            if self.cleaned_data.get(f"stays_{name}") == "merged"
        }
