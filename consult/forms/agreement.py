"""The client's place, and the signature under it."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from consult.agreement.planning import field_name
from consult.agreement.wished_depth import short_name
from consult.models import Method
from consult.zones import title
from salon.numbers import Number
from salon.tablet.forms import UnlockForm
from salon.widgets import Segments


class ChoiceForm(forms.Form):
    """A place of the whole head, or one aim for each group: warmth to keep, in percent."""

    tied = forms.BooleanField(
        label=_("All parts follow the whole head, so that it looks even"), required=False
    )

    deeper = forms.BooleanField(label=_("The client wants it deeper"), required=False)
    wanted_level = forms.TypedChoiceField(
        label=_("How dark?"),
        coerce=Decimal,
        empty_value=None,
        required=False,
        widget=Segments(),
        error_messages={"invalid_choice": _("Choose how dark it should be from the list.")},
    )

    def __init__(
        self, *args: Any, keys: Sequence[str], levels: Sequence[Decimal] = (), **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.keys = list(keys)
        self.fields["wanted_level"].choices = [  # type: ignore[attr-defined]
            ("", _("as light as it can be")),
            *((f"{level:f}", short_name(float(level))) for level in levels),
        ]
        is_tied = bool(self.data.get("tied"))
        self.fields["head"] = Number(
            label=_("The whole head"),
            min_value=-200,
            max_value=200,
            required=is_tied,
            error_messages={"required": _("Choose a place on the line.")},
        )
        for key in keys:
            self.fields[field_name(key)] = Number(
                label=title(key),
                min_value=-200,
                max_value=200,
                required=not is_tied,
                error_messages={"required": _("Choose a place on the line.")},
            )

    @property
    def head_aim(self) -> float | None:
        """Return the place of the whole head, or None where each part has its own."""
        return float(self.cleaned_data["head"]) if self.cleaned_data["tied"] else None

    @property
    def wish(self) -> Decimal | None:
        """Return the level that it is to be as dark as, or None where nobody wishes that."""
        level: Decimal | None = self.cleaned_data["wanted_level"]
        return level if self.cleaned_data["deeper"] else None

    @property
    def aims(self) -> Mapping[str, float]:
        """Return the cleaned aim of each group that has one."""
        aims = {key: self.cleaned_data.get(field_name(key)) for key in self.keys}
        return {key: float(aim) for key, aim in aims.items() if aim is not None}


class LeaveForm(UnlockForm):
    """The PIN or password that takes the tablet back from the client."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["password"].label = _("Password of the person signed in")


class SignForm(forms.Form):
    """How, and by whom, the choice is signed."""

    method = forms.ChoiceField(
        label=_("How to sign"), choices=Method.choices, initial=Method.DRAWN, widget=Segments()
    )
    signed_name = forms.CharField(
        label=_("Name of the person who signs"),
        max_length=120,
        widget=forms.TextInput({"autocomplete": "off"}),
    )
    signature_strokes = forms.CharField(required=False, widget=forms.HiddenInput())
    turned = forms.CharField(required=False, max_length=1, widget=forms.HiddenInput())
    choice = forms.IntegerField(widget=forms.HiddenInput(), min_value=1)
    has_understood = forms.BooleanField(
        label=_("I have read this, or had it read to me. I agree."),
        error_messages={"required": _("The client has to agree first.")},
    )

    def __init__(self, *args: Any, is_minor: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if is_minor:
            self.fields["signed_name"].label = _("Name of the parent or guardian")
