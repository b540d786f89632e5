"""The Ed25519 keys under the chain of sign-offs: in the environment or a file.

They are never in the database, so that whoever owns that alone can neither sign what nobody
signed nor sign it again. A key is 32 random bytes in base64, or an unencrypted PKCS 8 file in
PEM; it is named by the first 16 hex digits of the SHA-256 of its public half. Former keys are
known by their public halves only.
"""

import base64
import binascii
import contextlib
import hashlib
import logging
import os
import stat
import tempfile
from dataclasses import dataclass
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import (
    Ed25519PrivateKey,
    Ed25519PublicKey,
)
from cryptography.hazmat.primitives.serialization import load_pem_private_key
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured

log = logging.getLogger(__name__)

LENGTH = 32  # bytes of either half (RFC 8032, 5.1.5)


@dataclass(frozen=True)
class PublicKey:
    """The half of a key that verifies."""

    raw: bytes

    @property
    def key_id(self) -> str:
        """What a link calls the key that it is signed by."""
        return hashlib.sha256(self.raw).hexdigest()[:16]

    @property
    def text(self) -> str:
        """The key as the settings write it."""
        return base64.b64encode(self.raw).decode()

    def is_signature(self, signature: str, message: bytes) -> bool:
        """Return whether `signature`, in hex, is this key's under `message`."""
        try:
            Ed25519PublicKey.from_public_bytes(self.raw).verify(
                bytes.fromhex(signature), message
            )
        except (InvalidSignature, ValueError):
            return False
        return True


@dataclass(frozen=True)
class Signer:
    """The key that signs now."""

    private: Ed25519PrivateKey

    @property
    def public(self) -> PublicKey:
        """Its other half."""
        return PublicKey(self.private.public_key().public_bytes_raw())

    def sign(self, message: bytes) -> str:
        """Return the signature under `message`, 128 hex digits."""
        return self.private.sign(message).hex()


def signer() -> Signer:
    """Return the key in use.

    Raises
    ------
    ImproperlyConfigured
        If there is none, or it cannot be read.
    """
    if settings.SIGNING_KEY:
        return Signer(_private(settings.SIGNING_KEY.encode(), "SIGNING_KEY"))
    if not settings.SIGNING_KEY_FILE:
        raise ImproperlyConfigured(
            "No key signs the sign-offs. Set SIGNING_KEY (for example from"
            " `openssl rand -base64 32`) or SIGNING_KEY_FILE, and keep a copy in a safe place."
        )
    file = Path(settings.SIGNING_KEY_FILE)
    if settings.LOCAL and not file.exists():
        make(file)
        log.warning("Made a key for sign-offs: %s. Keep it, and a copy elsewhere.", file)
    try:
        content = file.read_bytes()
    except OSError as error:
        raise ImproperlyConfigured(f"The signing key cannot be read: {error}") from error
    return Signer(_private(content, str(file)))


def known() -> list[PublicKey]:
    """Return every key that a sign-off may be signed by, the oldest first, the current last."""
    former = [
        PublicKey(_bytes(text.encode(), "FORMER_SIGNING_KEYS"))
        for text in settings.FORMER_SIGNING_KEYS
    ]
    current = signer().public
    return [*(key for key in former if key != current), current]


def make(file: Path) -> PublicKey:
    """Write a new key to a file that only its owner reads; one that exists is left alone."""
    file.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=file.parent)
    with os.fdopen(handle, "wb") as out:
        out.write(base64.b64encode(os.urandom(LENGTH)) + b"\n")
    try:
        # It appears whole or not at all, whoever else makes one in this moment.
        with contextlib.suppress(FileExistsError):
            os.link(name, file)
    finally:
        os.unlink(name)
    return Signer(_private(file.read_bytes(), str(file))).public


def is_open_to_others() -> bool:
    """Return whether others on this machine may read the key's file."""
    if settings.SIGNING_KEY or not settings.SIGNING_KEY_FILE:
        return False
    mode = Path(settings.SIGNING_KEY_FILE).stat().st_mode
    return bool(mode & (stat.S_IRWXG | stat.S_IRWXO))


def _private(content: bytes, source: str) -> Ed25519PrivateKey:
    if b"-----BEGIN" in content:
        try:
            loaded = load_pem_private_key(content, password=None)
        except (ValueError, TypeError) as error:
            raise ImproperlyConfigured(f"{source} is no private key: {error}") from error
        if not isinstance(loaded, Ed25519PrivateKey):
            raise ImproperlyConfigured(f"{source} is not an Ed25519 key.")
        return loaded
    return Ed25519PrivateKey.from_private_bytes(_bytes(content, source))


def _bytes(text: bytes, source: str) -> bytes:
    try:
        raw = base64.b64decode(text.strip(), validate=True)
    except binascii.Error:
        raw = b""
    if len(raw) != LENGTH:
        raise ImproperlyConfigured(
            f"{source} must be {LENGTH} bytes in base64, as `openssl rand -base64 32` gives"
            " them."
        )
    return raw
