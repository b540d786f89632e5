"""The key of what is in storage: records’ words, photos, backups. Never in the database.

It is 32 random bytes in base64, in the environment or a file. Clients' own keys are wrapped by
it (`clients.sealed.keys`), backups are encrypted under a key made from it. Former ones open
what they closed, until everything is wrapped again.
"""

import base64
import binascii
import hashlib
import logging
import os
import stat
from collections.abc import Callable
from pathlib import Path

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

log = logging.getLogger(__name__)

LENGTH = 32  # bytes: AES-256


class KeyLost(Exception):
    """Raised where neither the key nor a former one opens what is stored."""


def current() -> bytes:
    """Return the key in use.

    Raises
    ------
    ImproperlyConfigured
        If there is none, or it cannot be read.
    """
    if settings.STORAGE_KEY:
        return _bytes(settings.STORAGE_KEY, "STORAGE_KEY")
    if not settings.STORAGE_KEY_FILE:
        raise ImproperlyConfigured(
            "No key closes what is stored. Set STORAGE_KEY (for example from"
            " `openssl rand -base64 32`) or STORAGE_KEY_FILE, and keep a copy in a safe place:"
            " without it nobody can read the records."
        )
    file = Path(settings.STORAGE_KEY_FILE)
    if settings.LOCAL and not file.exists():
        make(file)
        log.warning("Made a key for what is stored: %s. Keep a copy elsewhere.", file)
    try:
        return _bytes(file.read_text(), str(file))
    except OSError as error:
        raise ImproperlyConfigured(f"The storage key cannot be read: {error}") from error


def known() -> list[bytes]:
    """Return the key in use and every former one."""
    former = [_bytes(text, "FORMER_STORAGE_KEYS") for text in settings.FORMER_STORAGE_KEYS]
    return [current(), *former]


def name_of(key: bytes) -> str:
    """Return what a key is called: enough to tell two apart, nothing to guess it from."""
    return hashlib.sha256(b"salon storage key" + key).hexdigest()[:16]


def make(file: Path) -> bytes:
    """Write a new key to a file that only its owner reads; one that exists is left alone."""
    file.parent.mkdir(parents=True, exist_ok=True)
    try:
        handle = os.open(file, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
    except FileExistsError:
        return _bytes(file.read_text(), str(file))
    with os.fdopen(handle, "wb") as out:
        out.write(base64.b64encode(os.urandom(LENGTH)) + b"\n")
    return _bytes(file.read_text(), str(file))


def derived(key: bytes, purpose: str) -> bytes:
    """Return the key for one purpose, so that no two uses share one (RFC 5869)."""
    return HKDF(SHA256(), LENGTH, salt=None, info=f"salon.{purpose}".encode()).derive(key)


def wrap(secret: bytes) -> str:
    """Return a client's key as the database keeps it."""
    return _box().encrypt(secret).decode()


def unwrap(wrapped: str) -> bytes:
    """Return a client's key.

    Raises
    ------
    KeyLost
        If no key at hand wrapped it.
    """
    try:
        return _box().decrypt(wrapped.encode())
    except InvalidToken:
        raise KeyLost(
            "What is stored cannot be opened: STORAGE_KEY is not the key it was closed with."
            " Set it as on the recovery sheet, or name the former one in FORMER_STORAGE_KEYS."
        ) from None


def opener() -> Callable[[str], bytes]:
    """Return `unwrap` for many: it reads the keys once, and again only where they changed."""
    box = _box()

    def unwrap_one(wrapped: str) -> bytes:
        try:
            return box.decrypt(wrapped.encode())
        except InvalidToken:
            return unwrap(wrapped)

    return unwrap_one


def wrap_again(wrapped: str) -> str:
    """Return a wrapped key under the key in use."""
    return _box().rotate(wrapped.encode()).decode()


def is_open_to_others() -> bool:
    """Return whether others on this machine may read the key's file."""
    if settings.STORAGE_KEY or not settings.STORAGE_KEY_FILE:
        return False
    mode = Path(settings.STORAGE_KEY_FILE).stat().st_mode
    return bool(mode & (stat.S_IRWXG | stat.S_IRWXO))


def _box() -> MultiFernet:
    return MultiFernet(
        [Fernet(base64.urlsafe_b64encode(derived(key, "wrapping"))) for key in known()]
    )


def _bytes(text: str, source: str) -> bytes:
    try:
        raw = base64.b64decode(text.strip(), validate=True)
    except (binascii.Error, ValueError):
        raw = b""
    if len(raw) != LENGTH:
        raise ImproperlyConfigured(
            f"{source} must be {LENGTH} bytes in base64, as `openssl rand -base64 32` gives"
            " them."
        )
    return raw
