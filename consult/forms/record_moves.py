"""The signature under a copy for another salon, and whose record a received one is."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import Client
from consult.forms.agreement import SignForm
from salon.tablet.witness import WitnessForm
from salon.widgets import RadioCards

NEW = "new"


class CopyForm(SignForm):
    """How, and by whom, the copy for another salon is agreed; with the photos or without."""

    choice = None  # type: ignore[assignment]  # of a visit's sign-off only
    has_photos = forms.BooleanField(required=False)

    def __init__(self, *args: Any, photo_words: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if photo_words:
            self.fields["has_photos"].label = photo_words
        else:
            del self.fields["has_photos"]


class SecondPersonForm(WitnessForm):
    """A colleague and their PIN where nobody, not even an owner, may act alone."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        missing = gettext_lazy(
            "You cannot do this alone. Choose a colleague, who enters their PIN."
        )
        for field in self.fields.values():
            field.required = True
            field.error_messages["required"] = missing


class ReceiveForm(forms.Form):
    """Who the client is here: somebody known, or a new client. Nothing is chosen beforehand."""

    whom = forms.ChoiceField(
        label=gettext_lazy("Who is this here?"),
        widget=RadioCards(),
        error_messages={
            "required": gettext_lazy("Choose who it is, or a new client."),
            "invalid_choice": gettext_lazy("This client has changed since. Choose again."),
        },
    )

    def __init__(self, *args: Any, alike: Sequence[Client], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.alike = {str(client.pk): client for client in alike}
        field: Any = self.fields["whom"]
        field.choices = [
            *((key, client.name) for key, client in self.alike.items()),
            (NEW, _("A new client")),
        ]
        field.widget.more = {
            **{key: _details(client) for key, client in self.alike.items()},
            NEW: _("The entry begins with the name, birth date and contact of the copy."),
        }

    @property
    def client(self) -> Client | None:
        """The client who was chosen; None for a new one."""
        return self.alike.get(self.cleaned_data["whom"])


def _details(client: Client) -> str:
    """Say what tells one client from another of the same name."""
    birth = date_format(client.birth_date, "DATE_FORMAT") if client.birth_date else ""
    phone = client.phone.as_international if client.phone else ""
    parts = [birth, phone, client.email, _("number %(number)s") % {"number": client.pk}]
    return " · ".join(part for part in parts if part)
