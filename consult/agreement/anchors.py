"""Anchors: what the newest sign-off was, as a small signed file to keep elsewhere.

A chain of signatures shows what was changed, but not what was cut off its end, nor a chain
that somebody with the key has signed again. An anchor that lies where nobody in the salon can
change it shows both. Its text is three lines: "salon sign-off anchor 1", canonical JSON
(position and digest of the newest sign-off, and the digests since the anchor before), and the
signature over the two lines by the key that signs sign-offs.
"""

import datetime as dt
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from consult.agreement.signing import canonical_json, moment
from consult.agreement.verification import BrokenLink
from consult.models import SignOff
from salon.models import Salon
from salon.refusals import Refused
from salon.signing_keys import PublicKey, Signer

FIRST_LINE = "salon sign-off anchor 1"
FINGERPRINT_LENGTH = 16  # hex digits


class AnchorUnreadable(Refused):
    """Raised with the reason why a text is no anchor."""


@dataclass(frozen=True)
class AnchorText:
    """What an anchor says: the digests of some sign-offs up to `position`, by their number."""

    salon_id: int
    position: int
    digests: Mapping[int, str]
    made_at: str


def fingerprint(digest: str) -> str:
    """Return the first 16 digits of a digest in groups of four, short enough to compare."""
    start = digest[:FINGERPRINT_LENGTH]
    return " ".join(start[n : n + 4] for n in range(0, len(start), 4))


def text_of(salon: Salon, links: Sequence[SignOff], *, at: dt.datetime, signer: Signer) -> str:
    """Return the anchor of a salon's newest sign-offs, the last of `links` the newest."""
    newest = links[-1]
    content = {
        "salon": salon.pk,
        "name": salon.name,
        "position": newest.number,
        "digest": newest.digest,
        "links": {str(link.number): link.digest for link in links},
        "at": moment(at),
        "key": signer.public.key_id,
    }
    message = f"{FIRST_LINE}\n{canonical_json(content)}\n"
    return f"{message}{signer.sign(message.encode())}\n"


def read(text: str, *, keys: Iterable[PublicKey]) -> AnchorText:
    """Return what an anchor says, if one of `keys` has signed it.

    Raises
    ------
    AnchorUnreadable
        If the text is no anchor, or was changed since it was signed.
    """
    lines = text.strip().splitlines()
    if len(lines) != 3 or lines[0] != FIRST_LINE:
        raise AnchorUnreadable(_("This is not an anchor."), code="no_anchor")
    message = f"{lines[0]}\n{lines[1]}\n".encode()
    try:
        content = json.loads(lines[1])
        key = next((key for key in keys if key.key_id == content["key"]), None)
        if key is None:
            raise AnchorUnreadable(_("It is signed with an unknown key."), code="unknown_key")
        if not key.is_signature(lines[2], message):
            raise AnchorUnreadable(_("Its signature does not match."), code="wrong_signature")
        digests = {int(number): str(digest) for number, digest in content["links"].items()}
        digests[int(content["position"])] = str(content["digest"])
        return AnchorText(
            int(content["salon"]), int(content["position"]), digests, str(content["at"])
        )
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise AnchorUnreadable(_("This is not an anchor."), code="no_anchor") from error


def first_difference(
    anchored: Iterable[AnchorText], digests: Mapping[int, str]
) -> BrokenLink | None:
    """Return the first sign-off that anchors know otherwise, or that is missing, or None.

    `anchored` of one salon, in any order; `digests` are those of its chain now, by number.
    Where no anchor lists a sign-off that was exchanged, the next one listed differs, since
    each digest covers those before it.
    """
    known: dict[int, set[str]] = {}
    for anchor in anchored:
        for number, digest in anchor.digests.items():
            known.setdefault(number, set()).add(digest)
    missing = [number for number in range(1, max(known, default=0)) if number not in digests]
    for number in sorted({*known, *missing[:1]}):
        if number not in digests:
            return BrokenLink(number, _("it is missing, but an anchor has it"))
        if known.get(number, {digests[number]}) != {digests[number]}:
            if number == 1 or number - 1 in known:
                return BrokenLink(number, _("an anchor has a different one"))
            return BrokenLink(
                number, _("an anchor has a different one, or a different one before it")
            )
    return None
