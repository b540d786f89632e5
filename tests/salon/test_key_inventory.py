"""Every key is listed: which, since when, when it is due; and a date stops nothing."""

import base64
import datetime as dt
import hashlib
import io

import pytest
import time_machine
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.core.management import call_command
from django.test import Client as Browser
from django.utils import timezone
from pytest_django import Settings

from clients.models import CalendarFeed
from salon import key_inventory
from salon.doctor import Weight, setup
from salon.models import KeySeen, Passkey, SecondFactor, Staff
from salon.tablet.services import enrol_device
from salon.work import nightly

pytestmark = pytest.mark.django_db
YEAR = dt.timedelta(days=365)
OLD = base64.b64encode(b"o" * 32).decode()
NEW = base64.b64encode(b"n" * 32).decode()


def _said() -> str:
    out = io.StringIO()
    call_command("keys", stdout=out)
    return out.getvalue()


def _listed() -> dict[tuple[str, str], key_inventory.Key]:
    found = key_inventory.keys(at=timezone.now())
    return {(key.kind, key.fingerprint): key for key in found}


def _half(private: str) -> bytes:
    key = Ed25519PrivateKey.from_private_bytes(base64.b64decode(private))
    return key.public_key().public_bytes_raw()


def test_each_key_is_named_by_a_fingerprint_and_none_is_told(settings: Settings) -> None:
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "new" * 20, ["old" * 20]
    settings.SIGNING_KEY = NEW
    settings.FORMER_SIGNING_KEYS = [base64.b64encode(_half(OLD)).decode()]
    settings.STORAGE_KEY, settings.FORMER_STORAGE_KEYS = NEW, [OLD]

    def short(data: bytes) -> str:
        return hashlib.sha256(data).hexdigest()[:16]

    listed = {name: key.is_current for name, key in _listed().items()}

    assert listed == {
        ("SECRET_KEY", short(b"salon secret key" + b"new" * 20)): True,
        ("SECRET_KEY", short(b"salon secret key" + b"old" * 20)): False,
        ("SIGNING_KEY", short(_half(NEW))): True,
        ("SIGNING_KEY", short(_half(OLD))): False,
        ("STORAGE_KEY", short(b"salon storage key" + b"n" * 32)): True,
        ("STORAGE_KEY", short(b"salon storage key" + b"o" * 32)): False,
    }
    said = _said()
    assert all(fingerprint in said for _kind, fingerprint in listed)
    assert not any(secret in said for secret in (NEW, OLD, "new" * 20, "old" * 20))
    assert not any(secret in str(list(KeySeen.objects.values())) for secret in (NEW, OLD))


def test_since_when_is_kept_and_a_new_key_begins_anew(settings: Settings) -> None:
    settings.STORAGE_KEY = OLD
    began = timezone.now()
    nightly.tidy()  # the worker looks each night
    with time_machine.travel(began + YEAR - dt.timedelta(days=1)):
        settings.STORAGE_KEY, settings.FORMER_STORAGE_KEYS = NEW, [OLD]
        kept = {key.is_current: key for key in _listed().values() if key.kind == "STORAGE_KEY"}

    assert kept[False].since - began < dt.timedelta(minutes=1)
    assert kept[False].due_at is None
    assert kept[True].since - kept[False].since > YEAR - dt.timedelta(days=2)
    assert kept[True].due_at == kept[True].since + YEAR


def test_what_is_due_is_said_and_stops_nothing(settings: Settings) -> None:
    settings.KEYS_LAST_DAYS = 30
    now = timezone.now()
    (fresh,) = setup.keys()
    assert fresh.weight is Weight.FINE
    ready = Browser().get("/readyz").status_code
    with time_machine.travel(now + dt.timedelta(days=31)):
        late = list(setup.keys())
        assert Browser().get("/readyz").status_code == ready
        call_command("check", "--database", "default", stdout=io.StringIO())
        said = _said()  # ends without an error

    assert {one.weight for one in late} == {Weight.ODD}
    assert len(late) == 3
    assert all(one.remedy for one in late)
    assert said.count("DUE since") == 3
    assert "storage_key --wrap-again" in said


def test_what_people_and_devices_hold_is_counted(owner: Staff) -> None:
    now = timezone.now()
    enrol_device(name="Counter", by=owner, at=now)
    SecondFactor.objects.create(staff=owner, secret="x", set_at=now)
    Passkey.objects.create(
        staff=owner, name="x", credential_id="x", credential="x", user_handle="x", added_at=now
    )
    for closed in (None, now):
        CalendarFeed.objects.create(
            stylist=owner, token_hash=str(closed), created_at=now, revoked_at=closed
        )

    assert {one.kind: one.count for one in key_inventory.stocks()} == {
        "authenticator apps": 1,
        "passkeys": 1,
        "calendar addresses": 1,
        "tablets": 1,
        "TLS certificate": 1,
    }
