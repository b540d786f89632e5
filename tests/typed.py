"""What tests hand around, by name, and a way to say that something is there."""

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from django.test import Client as Browser

from clients.models import Appointment, PatchTest
from salon.models import Staff

if TYPE_CHECKING:
    from django.test.client import _MonkeyPatchedWSGIResponse as Answer
    from playwright.sync_api import Page
else:
    from django.http import HttpResponse as Answer

    Page = object

__all__ = ["Answer", "Booker", "Placer", "Query", "Seat", "SignIn", "present"]

# `client_for`: gives a signed-in test browser.
SignIn = Callable[[Staff], Browser]
# `seat`: signs someone in with a browser of their own.
Seat = Callable[..., Page]
# Book or change an appointment, place a patch test: what is not named is as usual.
Booker = Callable[..., Appointment]
Placer = Callable[..., PatchTest]
# What follows the question mark of an address.
Query = dict[str, str | int]

T = TypeVar("T")


def present(thing: T | None) -> T:
    """Return what has to be there; a test that finds nothing fails here."""
    assert thing is not None
    return thing
