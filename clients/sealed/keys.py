"""The keys of clients: found, made, kept at hand for one request, destroyed.

Each entry of the register has two. `ORDINARY` closes what may go at once when a client asks;
`KEPT` what the salon needs to answer a claim, until its time is over. A destroyed key leaves
its row, so that nothing is closed for that client again.
"""

import datetime as dt
import os
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cached_property
from typing import Any

from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from django.apps import apps
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext as _

from salon import storage_key
from salon.refusals import Refused

NONCE = 12  # bytes (NIST SP 800-38D, 8.2)
_BLOCK = 256  # keys that are fetched together: a page names many clients


class Purpose(models.TextChoices):
    """What a key closes."""

    ORDINARY = "ordinary", "ordinary"
    KEPT = "kept", "kept for claims"


class ClientErased(Refused):
    """Raised where something would be kept about a client whose data were erased."""


class _AtHand:
    """Keys that were fetched, for one request or one run of a command."""

    def __init__(self) -> None:
        self.wrapped: dict[int, str] = {}
        self.opened: dict[int, AESGCM] = {}
        self.numbers: dict[tuple[int, str], int] = {}

    @cached_property
    def unwrap(self) -> Callable[[str], bytes]:
        """What opens the wrapped ones."""
        return storage_key.opener()


_at_hand: ContextVar[_AtHand | None] = ContextVar("client_keys", default=None)


@contextmanager
def at_hand() -> Iterator[None]:
    """Keep keys that were fetched until the end: one query instead of one for each word."""
    token = _at_hand.set(_AtHand())
    try:
        yield
    finally:
        _at_hand.reset(token)


def new_key() -> bytes:
    """Return a key for a client."""
    return AESGCM.generate_key(256)


def prepare(client_ids: Collection[int]) -> None:
    """Make what keys these clients have not yet, and keep all of theirs at hand; two queries.

    For many at a time; elsewhere a key is made where it is first needed.
    """
    kept, table = _at_hand.get(), _table().objects
    if kept is None or not client_ids:
        return
    wanted = {(pk, purpose) for pk in client_ids for purpose in Purpose.values}
    rows = table.filter(client__in=client_ids)
    missing = wanted - set(rows.values_list("client", "purpose"))
    table.bulk_create(
        table.model(
            client_id=pk, purpose=purpose,
            wrapped=storage_key.wrap(new_key()), made_at=timezone.now(),
        )
        for pk, purpose in sorted(missing)
    )  # fmt: skip
    for number, pk, purpose, wrapped in rows.values_list("pk", "client", "purpose", "wrapped"):
        kept.wrapped[number] = wrapped
        if wrapped:
            kept.numbers[pk, purpose] = number


def close(content: bytes, *, client_id: int, purpose: str, label: str) -> tuple[int, bytes]:
    """Return the number of the client's key, and `content` closed with it.

    `label` says what it is ("clients.clientalert.text"): it opens as nothing else.
    """
    number, key = _key_of(client_id, purpose)
    nonce = os.urandom(NONCE)
    return number, nonce + key.encrypt(nonce, content, label.encode())


def open_again(closed: bytes, *, number: int, label: str) -> bytes | None:
    """Return what was closed with a key; None where the key was destroyed."""
    key = _key(number)
    if key is None:
        return None
    return key.decrypt(closed[:NONCE], closed[NONCE:], label.encode())


def destroy(client_ids: Iterable[int], *, purposes: Iterable[str], at: dt.datetime) -> int:
    """Destroy keys of clients for good, and leave no way to make them again."""
    count = 0
    for client_id in client_ids:
        for purpose in purposes:
            row, _new = _table().objects.get_or_create(
                client_id=client_id,
                purpose=purpose,
                defaults={"wrapped": "", "made_at": at, "destroyed_at": at},
            )
            if row.wrapped:
                row.wrapped, row.destroyed_at = "", at
                row.save(update_fields=["wrapped", "destroyed_at"])
            count += 1
    forget()
    return count


def forget() -> None:
    """Forget what is at hand."""
    if _at_hand.get() is not None:
        _at_hand.set(_AtHand())


def _table() -> Any:
    return apps.get_model("clients", "ClientKey")


def _key_of(client_id: int, purpose: str) -> tuple[int, AESGCM]:
    kept = _at_hand.get()
    number = kept.numbers.get((client_id, purpose)) if kept else None
    if number is None:
        row, _new = _table().objects.get_or_create(
            client_id=client_id,
            purpose=purpose,
            defaults={
                "wrapped": storage_key.wrap(new_key()),
                "made_at": timezone.now(),
            },
        )
        number = row.pk
        if not row.wrapped:
            raise ClientErased(
                _("The data of this client were erased: nothing new is kept."), code="erased"
            )
        if kept is None:
            return number, AESGCM(storage_key.unwrap(row.wrapped))
        kept.numbers[client_id, purpose] = number
        kept.wrapped[number] = row.wrapped
    key = _key(number)
    if key is None:
        raise ClientErased(
            _("The data of this client were erased: nothing new is kept."), code="erased"
        )
    return number, key


def _key(number: int) -> AESGCM | None:
    kept = _at_hand.get()
    if kept is None:
        wrapped = _wrapped(number, number + 1).get(number, "")
        return AESGCM(storage_key.unwrap(wrapped)) if wrapped else None
    if number not in kept.wrapped:
        first = number // _BLOCK * _BLOCK
        kept.wrapped |= {number: "", **_wrapped(first, first + _BLOCK)}
    if not kept.wrapped[number]:
        return None
    if number not in kept.opened:
        kept.opened[number] = AESGCM(kept.unwrap(kept.wrapped[number]))
    return kept.opened[number]


def _wrapped(first: int, end: int) -> dict[int, str]:
    rows = _table().objects.filter(pk__gte=first, pk__lt=end)
    return dict(rows.values_list("pk", "wrapped"))


class KeysAtHandMiddleware:
    """Keep the keys of clients at hand while a request is answered."""

    def __init__(self, get_response: Any) -> None:
        self.get_response = get_response

    def __call__(self, request: Any) -> Any:
        with at_hand():
            return self.get_response(request)
