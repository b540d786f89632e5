"""What was seen of a reaction."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.models import Sign


class ReactionForm(forms.Form):
    """The signs that were seen, and whatever else should be known."""

    signs = forms.MultipleChoiceField(
        label=_("What can be seen or felt"),
        choices=Sign.choices,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Enter what you saw.")},
    )
    note = forms.CharField(
        label=_("Where, and how strong (optional)"), max_length=120, required=False
    )

    def clean(self) -> dict[str, Any]:
        """Return the signs in the order of the list, each once."""
        data = super().clean() or {}
        chosen = set(data.get("signs", ()))
        data["signs"] = [code for code in Sign.values if code in chosen]
        return data
