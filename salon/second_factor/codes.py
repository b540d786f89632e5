"""Codes of an authenticator app after RFC 6238, and the secret that they come from.

The secret lies in the database only encrypted, under a key made from `SECRET_KEY`, which the
database never holds.
"""

import base64
import os
import unicodedata

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA1, SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.twofactor.totp import TOTP
from django.conf import settings
from django.utils.crypto import constant_time_compare

DIGITS = 6
STEP = 30  # seconds
SECRET_BYTES = 20  # as long as the hash, RFC 4226, section 4, R6
# One step either way, for a clock that is off and for slow fingers (RFC 6238, 5.2).
DRIFT = (0, -1, 1)
RECOVERY_LETTERS = 16


def new_secret() -> bytes:
    """Return a random secret."""
    return os.urandom(SECRET_BYTES)


def code_at(secret: bytes, step: int) -> str:
    """Return the code of a step since the epoch."""
    return _generator(secret).generate(step * STEP).decode()


def step_of(secret: bytes, code: str, *, at: float, after: int = -1) -> int | None:
    """Return which step a code is of, if that is about now and later than step `after`."""
    now = int(at // STEP)
    found = None
    for drift in DRIFT:
        if constant_time_compare(code_at(secret, now + drift), code) and now + drift > after:
            found = now + drift
    return found


def address(secret: bytes, *, username: str, salon: str) -> str:
    """Return what the app reads from the QR code (the Key Uri Format of the usual apps)."""
    return _generator(secret).get_provisioning_uri(username, salon)


def readable(secret: bytes) -> str:
    """Return the secret as an app takes it by hand: base32 in groups of four."""
    text = base64.b32encode(secret).decode().rstrip("=")
    return " ".join(text[n : n + 4] for n in range(0, len(text), 4))


def typed(code: str) -> str:
    """Return a code as it was meant: without spaces and hyphens, in small plain letters."""
    plain = unicodedata.normalize("NFKC", code).casefold()
    return "".join(letter for letter in plain if letter.isalnum())


def is_from_app(code: str) -> bool:
    """Return whether this may be a code of an app; else it may be a recovery code."""
    return len(code) == DIGITS and code.isascii() and code.isdigit()


def sealed(secret: bytes) -> str:
    """Return the secret as it is stored."""
    return _box().encrypt(secret).decode()


def opened(stored: str) -> bytes | None:
    """Return a stored secret; None where neither this nor a former `SECRET_KEY` opens it."""
    try:
        return _box().decrypt(stored.encode())
    except InvalidToken:
        return None


def sealed_again(stored: str) -> str:
    """Return a stored secret under the current key."""
    return _box().rotate(stored.encode()).decode()


def _generator(secret: bytes) -> TOTP:
    return TOTP(secret, DIGITS, SHA1(), STEP)  # noqa: S303  what every app expects


def _box() -> MultiFernet:
    return MultiFernet(
        [Fernet(_key(text)) for text in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)]
    )


def _key(text: str) -> bytes:
    derived = HKDF(SHA256(), 32, salt=None, info=b"salon.second_factor").derive(text.encode())
    return base64.urlsafe_b64encode(derived)
