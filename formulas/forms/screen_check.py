"""The form that checks how well a screen shows colour."""

from typing import Any

from django import forms
from django.core import signing
from django.utils.translation import gettext_lazy as _

from formulas.screen_check import KINDS
from salon.widgets import Segments, Stepper

_SALT = "screen check"
_SECONDS = 60 * 60
_ANSWERS = [("same", _("same")), ("different", _("different"))]


class ScreenCheckForm(forms.Form):
    """What somebody saw on a screen; the pictures follow from the signed seed."""

    seed = forms.CharField(max_length=200, widget=forms.HiddenInput)
    dark_steps = forms.IntegerField(
        label=_("How many dark steps do you see?"), min_value=1, max_value=20, widget=Stepper()
    )
    light_steps = forms.IntegerField(
        label=_("How many light steps do you see?"), min_value=1, max_value=20, widget=Stepper()
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number in range(1, len(KINDS) + 1):
            self.fields[f"pair_{number}"] = forms.ChoiceField(
                label=_("Pair %(number)s") % {"number": number},
                choices=_ANSWERS,
                widget=Segments(),
            )

    def clean_seed(self) -> int:
        seed = seed_of(self.cleaned_data["seed"])
        if seed is None:
            raise forms.ValidationError(_("These pictures are too old. Look at the new ones."))
        return seed


def signed(seed: int) -> str:
    """Return a seed as a page keeps it: nobody picks their own pictures."""
    return signing.dumps(seed, salt=_SALT)


def seed_of(text: str) -> int | None:
    """Return the seed of a page, or None where it is another's or older than an hour."""
    try:
        return int(signing.loads(text, salt=_SALT, max_age=_SECONDS))
    except (signing.BadSignature, TypeError, ValueError):
        return None
