"""The picture that becomes the salon's logo."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.photos import pictures


class LogoForm(forms.Form):
    """A picture, decoded and written again as photos are; `picture` is the result."""

    picture: pictures.Picture

    file = forms.FileField(
        label=_("Picture"),
        allow_empty_file=True,  # the reading of the picture says it better
        help_text=_("A JPEG, PNG or WebP picture, up to 5 MB. It is put on white."),
        widget=forms.FileInput({"accept": "image/jpeg,image/png,image/webp"}),
    )

    def clean_file(self) -> Any:
        """Refuse what is no picture, in one sentence whatever is wrong with it."""
        file = self.cleaned_data["file"]
        try:
            self.picture = pictures.read(file, size=file.size)
        except pictures.PictureRefused as refusal:
            raise forms.ValidationError(
                _(
                    "This picture cannot be used. Choose a JPEG, PNG or WebP picture of at "
                    "least 64 × 64 pixels, up to 5 MB."
                ),
                code=refusal.code,
            ) from refusal
        return file
