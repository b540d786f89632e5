"""Every key of this installation: which, since when, when it is due to be replaced, and how.

Keys are named by fingerprints, from which nobody gets them back. When one came into use is
noted the first time that it is seen here: by `manage.py keys`, `manage.py doctor` or the
worker each night.
"""

import datetime as dt
import hashlib
from collections.abc import Iterator
from dataclasses import dataclass

from django.apps import apps
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.db.models import Min

from salon import signing_keys, storage_key
from salon.models import Device, KeySeen, Passkey, SecondFactor

SECRET, SIGNING, STORAGE = "SECRET_KEY", "SIGNING_KEY", "STORAGE_KEY"
HOW = {
    SECRET: "Put it into SECRET_KEY_FALLBACKS, set a new one, start again; take the old one out"
    " once everybody has signed in.",
    SIGNING: "Append its public half (`manage.py signing_key`) to FORMER_SIGNING_KEYS, set a"
    " new one, start again, destroy the old one.",
    STORAGE: "Put it into FORMER_STORAGE_KEYS, set a new one, start again, run `manage.py"
    " storage_key --wrap-again` and `manage.py recovery_sheet`.",
}
FORMER = {
    SECRET: "Take it out once everybody has signed in.",
    SIGNING: "Stays: it verifies what was signed by it.",
    STORAGE: "Take it out once everything is wrapped again and no backup needs it.",
}


@dataclass(frozen=True)
class Key:
    """A key as the inventory shows it; `due_at` only of one in use."""

    kind: str
    fingerprint: str
    is_current: bool
    since: dt.datetime
    due_at: dt.datetime | None
    what_to_do: str

    def is_due(self, at: dt.datetime) -> bool:
        """Return whether it has been in use for longer than the settings say."""
        return self.due_at is not None and self.due_at <= at


@dataclass(frozen=True)
class Stock:
    """Secrets that belong to people or devices: how many, and what becomes of them."""

    kind: str
    count: int
    oldest: dt.datetime | None
    what_to_do: str


def keys(*, at: dt.datetime) -> list[Key]:
    """Return the keys of the settings, those in use first; note those not seen before."""
    lasts = dt.timedelta(days=settings.KEYS_LAST_DAYS)
    found = []
    for kind, fingerprint, is_current in _at_hand():
        row, _is_new = KeySeen.objects.get_or_create(
            kind=kind, fingerprint=fingerprint, defaults={"first_seen_at": at}
        )
        found.append(
            Key(
                kind=kind,
                fingerprint=fingerprint,
                is_current=is_current,
                since=row.first_seen_at,
                due_at=row.first_seen_at + lasts if is_current else None,
                what_to_do=(HOW if is_current else FORMER)[kind],
            )
        )
    return sorted(found, key=lambda one: not one.is_current)


def stocks() -> list[Stock]:
    """Return what people and devices hold, or what lies with the proxy."""
    factors = SecondFactor.objects.exclude(secret="")
    feeds = apps.get_model("clients", "CalendarFeed")._base_manager.filter(revoked_at=None)
    devices = Device.objects.in_force()
    return [
        _stock("authenticator apps", factors, "set_at", "Encrypted under SECRET_KEY."),
        _stock("passkeys", Passkey.objects.all(), "added_at", "Public halves; nothing to do."),
        _stock("calendar addresses", feeds, "created_at", "Their owners close them."),
        _stock("tablets", devices, "enrolled_at", "Owners block them (Salon, Tablets)."),
        Stock("TLS certificate", 1, None, "The proxy's, which renews it."),
    ]


def fingerprint_of(secret: str) -> str:
    """Return what SECRET_KEY is called: enough to tell two apart."""
    return hashlib.sha256(b"salon secret key" + secret.encode()).hexdigest()[:16]


def _at_hand() -> Iterator[tuple[str, str, bool]]:
    for number, secret in enumerate((settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)):
        yield SECRET, fingerprint_of(secret), number == 0
    try:
        *former, current = signing_keys.known()
        yield SIGNING, current.key_id, True
        yield from ((SIGNING, key.key_id, False) for key in former)
        for number, key in enumerate(storage_key.known()):
            yield STORAGE, storage_key.name_of(key), number == 0
    except ImproperlyConfigured:  # which the checks say
        return


def _stock(kind: str, rows: object, since: str, what_to_do: str) -> Stock:
    oldest = rows.aggregate(oldest=Min(since))["oldest"]  # type: ignore[attr-defined]
    return Stock(kind, rows.count(), oldest, what_to_do)  # type: ignore[attr-defined]
