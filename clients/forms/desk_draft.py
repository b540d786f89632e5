"""The form that receives what is typed at the desk and not saved yet."""

import json
from typing import Any

from django import forms

_MOST = 60


class DraftForm(forms.Form):
    """A page's address and what its form holds, as pairs of name and value."""

    address = forms.CharField(max_length=500)
    once = forms.CharField(max_length=40, required=False)
    fields_json = forms.CharField(max_length=20_000)

    def clean_address(self) -> str:
        """Refuse what is no page of this site."""
        address: str = self.cleaned_data["address"]
        if not address.startswith("/") or address.startswith("//"):
            raise forms.ValidationError("", code="address")
        return address

    def clean_fields_json(self) -> list[list[str]]:
        """Return the pairs, or refuse what is none."""
        try:
            pairs: list[list[str]] = json.loads(self.cleaned_data["fields_json"])
        except (ValueError, RecursionError):
            raise forms.ValidationError("", code="pairs") from None
        is_pairs = isinstance(pairs, list) and len(pairs) <= _MOST
        if not is_pairs or not all(_is_pair(pair) for pair in pairs):
            raise forms.ValidationError("", code="pairs")
        return pairs

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if "fields_json" in cleaned:
            cleaned["fields"] = cleaned.pop("fields_json")
        return cleaned


def _is_pair(pair: object) -> bool:
    if not isinstance(pair, list) or len(pair) != 2:
        return False
    return all(isinstance(text, str) and "\x00" not in text for text in pair)
