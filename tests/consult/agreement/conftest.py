"""A chain of sign-offs with an anchor kept elsewhere."""

import base64
import datetime as dt
from pathlib import Path

import pytest
from pytest_django import Settings

from consult import services
from salon import signing_keys
from salon.models import Salon, Staff
from tests.consult.agreement.tampered import Chain
from tests.factories.clients import ClientFactory
from tests.factories.consult import opened


@pytest.fixture
def chain(
    salon: Salon, stylist: Staff, now: dt.datetime, settings: Settings, tmp_path: Path
) -> Chain:
    settings.ANCHOR_DIR = str(tmp_path)
    keys = {secret: base64.b64encode(secret * 32).decode() for secret in (b"k", b"n")}
    settings.SIGNING_KEY = keys[b"k"]
    for name in ("Ada", "Berta", "Cleo"):
        if name == "Cleo":  # the key is replaced before the last one
            settings.FORMER_SIGNING_KEYS = [signing_keys.signer().public.text]
            settings.SIGNING_KEY = keys[b"n"]
        story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=2), name=name)
        story.answer().read()
        story.choose()
        story.sign()
    services.anchor_sign_offs(salon=salon, by=None, at=now)
    return Chain(salon, tmp_path, ClientFactory(salon=salon))
