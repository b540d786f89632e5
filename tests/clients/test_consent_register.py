"""The owner's register of consents: filtered, and as a file."""

import csv
import datetime as dt
import io
from urllib.parse import urlencode

import pytest
from django.urls import reverse

from clients.models import ConsentKind
from clients.services import record_consent
from salon.models import Staff
from tests.factories.clients import ClientFactory
from tests.typed import SignIn


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({}, ["Ada agreed", "Ada withdrawn", "Berta agreed", "Berta photos"]),
        ({"answer": "withdrawn"}, ["Ada withdrawn"]),
        ({"answer": "given"}, ["Ada agreed", "Berta agreed", "Berta photos"]),
        ({"kind": ConsentKind.PHOTOS}, ["Berta photos"]),
        ({"latest": "on"}, ["Ada withdrawn", "Berta agreed", "Berta photos"]),
    ],
)
def test_the_register_shows_what_is_asked_for(
    owner: Staff,
    now: dt.datetime,
    client_for: SignIn,
    asked: dict[str, str],
    found: list[str],
) -> None:
    ada, berta = (
        ClientFactory(salon=owner.salon, name="Ada"),
        ClientFactory(salon=owner.salon, name="Berta"),
    )
    health, photos = ConsentKind.HEALTH_RECORD, ConsentKind.PHOTOS
    rows = [
        (ada, health, "agreed", True),
        (ada, health, "withdrawn", False),
        (berta, health, "agreed", True),
        (berta, photos, "photos", True),
    ]
    for minutes, (client, kind, words, is_given) in enumerate(rows):
        record_consent(
            client=client, kind=kind, wording=words, is_given=is_given, by=owner,
            at=now + dt.timedelta(minutes=minutes - 10),
        )  # fmt: skip

    address = f"{reverse('clients:consent_register')}?{urlencode(asked)}"
    page = client_for(owner).post(address)

    lines = list(csv.reader(io.StringIO(page.text)))[1:]
    assert sorted(f"{line[1]} {line[5]}" for line in lines) == found
