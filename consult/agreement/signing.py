"""Freeze what was agreed, hash it, chain it, and find the first broken link.

The snapshot is stored as the very characters that were hashed, so that verifying never
depends on how a database or a library writes JSON. Each digest covers the previous one:
changing, removing or reordering an earlier sign-off breaks every later link. The audit trail
holds each number and digest too, so that removing the last ones is seen as well.
"""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from consult.models import SignOff

GENESIS = "0" * 64
FORMAT = 1


def canonical_json(value: Mapping[str, Any]) -> str:
    """Return `value` as JSON with sorted keys and no spaces; NaN and the like are refused."""
    return json.dumps(
        value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False
    )


def text_digest(text: str) -> str:
    """Return the SHA-256 of a text in UTF-8, as 64 hex digits."""
    return hashlib.sha256(text.encode()).hexdigest()


def link_digest(*, number: int, previous: str, snapshot: str) -> str:
    """Return the digest of one link: its number, the link before it and its snapshot."""
    return text_digest(f"{number}\n{previous}\n{snapshot}")


@dataclass(frozen=True)
class BrokenLink:
    """The first sign-off that does not hold, and why."""

    number: int
    reason: str


def first_broken_link(
    links: Iterable[SignOff], *, recorded: Mapping[int, str] | None = None
) -> BrokenLink | None:
    """Return the first link of a salon's chain that does not hold, or None.

    `links` in the order of their numbers; `recorded` maps numbers to the digests that the
    audit trail remembers.
    """
    previous, expected = GENESIS, 1
    recorded = recorded or {}
    for link in links:
        if link.number != expected:
            return BrokenLink(expected, _("it is missing"))
        if link.previous_digest != previous:
            return BrokenLink(link.number, _("it does not follow the one before it"))
        reason = _fault(link, recorded.get(link.number))
        if reason:
            return BrokenLink(link.number, reason)
        previous, expected = link.digest, expected + 1
    later = [number for number in recorded if number >= expected]
    return BrokenLink(min(later), _("it is missing")) if later else None


def _fault(link: SignOff, recorded: str | None) -> str:
    """Return what is wrong with one link by itself, or an empty string."""
    computed = link_digest(
        number=link.number, previous=link.previous_digest, snapshot=link.snapshot
    )
    if computed != link.digest:
        return _("what was signed has changed")
    if recorded is not None and recorded != link.digest:
        return _("the audit trail remembers another one")
    signed = json.loads(link.snapshot)["signed"]
    stored = {
        "name": link.signed_name,
        "method": link.method,
        "guardian_of": link.guardian_of,
        "witness_id": link.witness_id,
        "at": moment(link.signed_at),
        "strokes_sha256": text_digest(link.strokes),
    }
    if any(signed[key] != value for key, value in stored.items()):
        return _("the signature beside it has changed")
    return ""


def moment(at: dt.datetime) -> str:
    """Return an instant as ISO 8601 in UTC, to the microsecond."""
    return at.astimezone(dt.UTC).isoformat(timespec="microseconds")
