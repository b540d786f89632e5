"""Freeze what was agreed, hash it, chain it and sign it: the canonical forms.

The snapshot is stored as the very characters that were hashed, so that verifying never
depends on how a database or a library writes JSON.

Version 1, before there was a key: the SHA-256 of number, previous digest and snapshot, a line
each. Version 2: the line "salon sign-off 2", then the canonical JSON of `message_of`: salon,
position, previous digest, visit, choice, client, witness, method, moment, key, and the digest
of the content (snapshot, name, strokes). The link's digest is the SHA-256 of these bytes and
its signature Ed25519 (RFC 8032) over them. The content's digest is salted: a content that is
destroyed cannot be guessed from it, and the chain stays valid without.
"""

import datetime as dt
import hashlib
import json
import secrets
from collections.abc import Mapping

from consult.models import SignOff
from salon.signing_keys import Signer

GENESIS = "0" * 64
FORMAT = 1  # of the snapshot
VERSION = 2  # of a link


def canonical_json(value: Mapping[str, object]) -> str:
    """Return `value` as JSON with sorted keys and no spaces; NaN and the like are refused."""
    return json.dumps(
        value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False
    )


def text_digest(text: str) -> str:
    """Return the SHA-256 of a text in UTF-8, as 64 hex digits."""
    return hashlib.sha256(text.encode()).hexdigest()


def link_digest(*, number: int, previous: str, snapshot: str) -> str:
    """Return the digest of a link of version 1: number, the link before it and its snapshot."""
    return text_digest(f"{number}\n{previous}\n{snapshot}")


def content_digest(link: SignOff) -> str:
    """Return the digest of what was shown and who signed how, with the link's own salt."""
    content = {
        "snapshot": link.snapshot,
        "name": link.signed_name,
        "guardian_of": link.guardian_of,
        "strokes": link.strokes,
    }
    return text_digest(f"{link.content_salt}\n{canonical_json(content)}")


def message_of(link: SignOff) -> bytes:
    """Return the canonical bytes that digest and signature of a link of version 2 cover."""
    covered = {
        "version": link.version,
        "salon": link.salon_id,
        "position": link.number,
        "previous": link.previous_digest,
        "visit": link.visit_id,
        "choice": link.choice_id,
        "client": link.visit.client_id,
        "witness": link.witness_id,
        "method": link.method,
        "at": moment(link.signed_at),
        "content": link.content_digest,
        "key": link.key_id,
    }
    return f"salon sign-off {link.version}\n{canonical_json(covered)}".encode()


def sign(link: SignOff, signer: Signer) -> None:
    """Complete a link that is not saved yet: salt, digests, key and signature."""
    link.version = VERSION
    link.content_salt = secrets.token_hex(16)
    link.content_digest = content_digest(link)
    link.key_id = signer.public.key_id
    message = message_of(link)
    link.digest = hashlib.sha256(message).hexdigest()
    link.signature = signer.sign(message)


def moment(at: dt.datetime) -> str:
    """Return an instant as ISO 8601 in UTC, to the microsecond."""
    return at.astimezone(dt.UTC).isoformat(timespec="microseconds")
