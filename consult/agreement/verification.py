"""Walk a salon's chain of sign-offs and find the first link that does not hold."""

import hashlib
import json
from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Q
from django.utils.translation import gettext as _

from clients.models import Client, Erasure, ErasureStep
from clients.sealed.fields import Erased
from consult.agreement import signing, snapshot
from consult.models import SignOff
from salon import signing_keys
from salon.models import AuditEvent, Salon
from salon.signing_keys import PublicKey

LINKED = "sign-off linked"  # the audit event that remembers a link


@dataclass(frozen=True)
class BrokenLink:
    """The first sign-off that does not hold, and why."""

    number: int
    reason: str


def links_of(salon: Salon) -> Iterable[SignOff]:
    """Return a salon's chain in order, with all that a link is compared with."""
    return (
        SignOff.objects.filter(salon=salon)
        .order_by("number")
        .select_related("visit", "choice")
        .prefetch_related("choice__places")
        .iterator(chunk_size=200)
    )


def recorded_digests(salon: Salon) -> Mapping[int, str]:
    """Return the digests that the audit trail remembers, by number."""
    events = AuditEvent.objects.filter(salon=salon, kind=LINKED)
    return {event.detail["number"]: event.detail["digest"] for event in events}


def erased_clients(salon: Salon) -> set[int]:
    """Return the entries of everybody whose erasure is on record."""
    done = Erasure.objects.filter(client__salon=salon, step=ErasureStep.DONE)
    people = list(done.values_list("client", flat=True))
    return set(
        Client.objects.filter(Q(pk__in=people) | Q(merged_into__in=people)).values_list(
            "pk", flat=True
        )
        if people
        else []
    )


def fault_in(salon: Salon) -> BrokenLink | None:
    """Return the first link of a salon's chain that does not hold, or None."""
    return first_broken_link(
        links_of(salon),
        keys=signing_keys.known(),
        recorded=recorded_digests(salon),
        erased=erased_clients(salon),
    )


def first_broken_link(
    links: Iterable[SignOff],
    *,
    keys: Sequence[PublicKey],
    recorded: Mapping[int, str] | None = None,
    erased: Container[int] = (),
) -> BrokenLink | None:
    """Return the first link of a salon's chain that does not hold, or None.

    `links` in the order of their numbers; `keys` may have signed them, the oldest first;
    `recorded` maps numbers to the digests that the audit trail remembers; what was signed may
    be unreadable only of the clients `erased`, whose erasure is on record.
    """
    previous, expected, oldest_key = signing.GENESIS, 1, -1
    recorded = recorded or {}
    places = {key.key_id: place for place, key in enumerate(keys)}
    for link in links:
        if link.number != expected:
            return BrokenLink(expected, _("it is missing"))
        if link.previous_digest != previous:
            return BrokenLink(link.number, _("it does not follow the one before it"))
        place = places.get(link.key_id, -1)
        reason = (
            _order_fault(link, place, oldest_key)
            or _link_fault(link, keys[place])
            or _trail_fault(link, recorded.get(link.number))
            or (_erasure_fault(link, erased) if _is_erased(link) else _content_fault(link))
        )
        if reason:
            return BrokenLink(link.number, reason)
        previous, expected, oldest_key = link.digest, expected + 1, place
    later = [number for number in recorded if number >= expected]
    return BrokenLink(min(later), _("it is missing")) if later else None


def _order_fault(link: SignOff, place: int, oldest_key: int) -> str:
    """Return what is wrong with the key that a link names, after those before it."""
    if link.version == 1:
        return _("it is not signed, and the one before it is") if oldest_key >= 0 else ""
    if place < 0:
        return _("it is signed with an unknown key")
    return (
        _("it is signed with a key that had already been replaced")
        if place < oldest_key
        else ""
    )


def _link_fault(link: SignOff, key: PublicKey) -> str:
    """Return whether the digest, the signature and the content of a link belong together."""
    if link.version == 1 and _is_erased(link):
        return ""  # the links after it seal its digest
    if link.version == 1:
        computed = signing.link_digest(
            number=link.number, previous=link.previous_digest, snapshot=link.snapshot
        )
        return "" if computed == link.digest else _("what was signed has changed")
    if not _is_erased(link) and signing.content_digest(link) != link.content_digest:
        return _("what was signed has changed")
    message = signing.message_of(link)
    if not key.is_signature(link.signature, message):
        return _("its signature does not match")
    if hashlib.sha256(message).hexdigest() != link.digest:
        return _("its digest does not match")
    return ""


def _is_erased(link: SignOff) -> bool:
    """Return whether what was signed is destroyed; number, digest and signature stay."""
    return isinstance(link.snapshot, Erased)


def _erasure_fault(link: SignOff, erased: Container[int]) -> str:
    if link.visit.client_id in erased:
        return ""
    return _("it cannot be read, and no erasure is on record")


def _trail_fault(link: SignOff, recorded: str | None) -> str:
    if recorded is not None and recorded != link.digest:
        return _("the record of changes has a different one")
    return ""


def _content_fault(link: SignOff) -> str:
    """Return what of the rows beside the snapshot says something else than it."""
    frozen = json.loads(link.snapshot)
    signed, visit, choice = frozen["signed"], link.visit, link.choice
    beside = {
        "name": link.signed_name,
        "method": link.method,
        "guardian_of": link.guardian_of,
        "witness_id": link.witness_id,
        "at": signing.moment(link.signed_at),
        "strokes_sha256": signing.text_digest(link.strokes),
    }
    if any(signed[key] != value for key, value in beside.items()):
        return _("the signature beside it has changed")
    if (frozen["salon"]["id"], frozen["visit"]) != (link.salon_id, link.visit_id):
        return _("it belongs to another visit")
    if frozen["client"]["id"] != visit.client_id:
        return _("it belongs to another client")
    if (frozen["choice"], link.visit_id) != (choice.number, choice.visit_id):
        return _("it belongs to another choice")
    # A sign-off from before there was such a wish names none.
    wish_has_changed = frozen.get("wanted_level") != snapshot.wanted_level_of(choice)
    if wish_has_changed or frozen["places"] != snapshot.places_of(choice):
        return _("the choice that was signed has changed")
    return ""
