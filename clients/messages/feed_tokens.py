"""The secret in a calendar's address: only its hash is kept."""

import hashlib


def hash_of(token: str) -> str:
    """Return what is kept of a token."""
    return hashlib.sha256(token.encode()).hexdigest()
