"""Forms about photos of the hair: take one, agree to them, delete one."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import Part, RemovalReason
from clients.photos import pictures
from clients.photos.pictures import Picture
from salon.widgets import Segments


class PhotoForm(forms.Form):
    """A picture from the camera, and what of the hair it shows."""

    file = forms.FileField(
        label=gettext_lazy("Photo"),
        allow_empty_file=True,  # the reading of the picture says it better
        error_messages={
            "required": gettext_lazy("Take a photo first."),
            "max_length": gettext_lazy("The name of this file is too long."),
        },
        widget=forms.FileInput({"accept": "image/*"}),
    )
    part = forms.ChoiceField(
        label=gettext_lazy("What it shows"),
        choices=Part.choices,
        initial=Part.WHOLE,
        required=False,
        widget=Segments(),
    )

    def clean_file(self) -> Picture:
        """Return the picture, decoded and encoded again."""
        file = self.cleaned_data["file"]
        try:
            return pictures.read(file, size=file.size)
        except pictures.PictureRefused as refusal:
            raise forms.ValidationError(str(refusal)) from refusal

    def clean_part(self) -> str:
        return self.cleaned_data["part"] or Part.WHOLE


class PhotoConsentForm(forms.Form):
    """What the client says to photos."""

    is_given = forms.TypedChoiceField(
        choices=[("1", ""), ("0", "")],
        coerce=lambda value: value == "1",
        error_messages={"required": gettext_lazy("Ask the client first.")},
    )


class RemovalForm(forms.Form):
    """Why a photo is deleted."""

    reason = forms.ChoiceField(
        label=gettext_lazy("Why"),
        choices=[c for c in RemovalReason.choices if c[0] != RemovalReason.WITHDRAWN],
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].error_messages["required"] = _("Give a reason.")
