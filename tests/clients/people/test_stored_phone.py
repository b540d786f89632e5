"""A stored number is what the library reads from its text, worked out once for each number."""

import pytest
from django.conf import settings
from django.forms.models import model_to_dict
from phonenumber_field.phonenumber import PhoneNumber, to_python

from clients.models import Client
from clients.models.phone import StoredPhone
from salon.models import Salon
from tests.factories.clients import ClientFactory

# Of countries with and without a leading zero, with an extension, short, and no number at all.
TEXTS = [
    "+441174960101", "+390612345678", "+493012345678", "+12025550143", "+33123456789",
    "+441174960101;ext=12", "+4411", "999", "call her sister", "011 7496 0101",
]  # fmt: skip


@pytest.mark.parametrize("text", TEXTS)
def test_it_reads_as_the_library_reads_it(salon: Salon, text: str) -> None:
    client = ClientFactory(salon=salon)
    Client.objects.filter(pk=client.pk).update(phone=PhoneNumber(raw_input=text))
    kept = Client.objects.filter(pk=client.pk).values_list("phone", flat=True).get()
    library: PhoneNumber = to_python(text, region=settings.PHONENUMBER_DEFAULT_REGION)

    assert isinstance(kept, StoredPhone)
    assert str(kept) == str(library)
    assert kept == library
    assert library == kept
    assert kept == text
    assert bool(kept) == bool(library)
    assert hash(kept) == hash(library)
    for shown in ("is_valid", "as_international", "as_rfc3966", "as_national", "as_e164"):
        ours, theirs = getattr(kept, shown), getattr(library, shown)
        assert (ours() if callable(ours) else ours) == (
            theirs() if callable(theirs) else theirs
        )


def test_it_is_read_once_and_goes_through_forms_and_saves(salon: Salon) -> None:
    first = ClientFactory(salon=salon, phone="+441174960101")
    second = ClientFactory(salon=salon, phone="+441174960101")
    rows = Client.objects.in_bulk([first.pk, second.pk])

    assert rows[first.pk].phone is rows[second.pk].phone
    rows[first.pk].save()
    assert model_to_dict(rows[first.pk])["phone"] == "+441174960101"
    other = Client.objects.get(pk=first.pk)
    other.phone = "+493012345678"
    other.save()
    assert str(Client.objects.get(pk=first.pk).phone) == "+493012345678"
    assert str(Client.objects.get(pk=second.pk).phone) == "+441174960101"
    assert Client.objects.get(pk=second.pk).phone != Client.objects.get(pk=first.pk).phone


def test_nobody_s_number_is_nothing(salon: Salon) -> None:
    client = ClientFactory(salon=salon, phone="")

    assert Client.objects.get(pk=client.pk).phone == ""
