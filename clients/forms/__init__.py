"""Text in, Python values out; nothing is saved here."""

from clients.forms.diary import BookingForm, CancelForm, MoveForm, OverrideForm
from clients.forms.patch_tests import PlaceForm, ReadingForm
from clients.forms.register import AlertForm, ClientForm

__all__ = [
    "AlertForm",
    "BookingForm",
    "CancelForm",
    "ClientForm",
    "MoveForm",
    "OverrideForm",
    "PlaceForm",
    "ReadingForm",
]
