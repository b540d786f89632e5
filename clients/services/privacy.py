"""Erasure and restriction: what a client may ask of the salon (GDPR, articles 17 and 18)."""

import datetime as dt
from functools import partial

from django.db import transaction
from django.utils.translation import gettext as _

from clients.models import (
    Client,
    Erasure,
    ErasureReason,
    ErasureStep,
    RemovalReason,
    Restriction,
    Shut,
)
from clients.people import person, possible_duplicates
from clients.privacy import erasure_list, holdings
from clients.privacy.copies import end_moves
from clients.sealed import keys
from clients.selectors import privacy as selectors
from clients.selectors.photos import stored_photos
from clients.services.photos import remove_all_photos
from salon import audit
from salon.files import services as files
from salon.models import Staff
from salon.policies import require_owner
from salon.refusals import Refused


class PrivacyRefused(Refused):
    """Raised with the reason why nothing is erased, shut or opened."""


@transaction.atomic
def request_erasure(*, client: Client, reason: str, by: Staff, at: dt.datetime) -> Erasure:
    """Put a client's wish to be forgotten on record; it is done after some days.

    Any owner can stop it until then: one alone cannot make a record vanish in an evening.
    """
    require_owner(client, by=by)
    rights = _locked(client, at)
    _check_idle(rights)
    if rights.is_erased or rights.is_requested:
        raise PrivacyRefused(_("This is on record already."), code="already")
    if rights.is_restricted:
        raise PrivacyRefused(
            _("This record is shut. Open it again first: somebody may need it."), code="shut"
        )
    if reason not in {ErasureReason.IN_PERSON, ErasureReason.IN_WRITING}:
        raise PrivacyRefused(_("Choose how the client asked for it."), code="no_reason")
    return _step(rights.client, ErasureStep.REQUESTED, reason, by, at)


@transaction.atomic
def stop_erasure(*, client: Client, by: Staff, at: dt.datetime) -> Erasure:
    """Stop an erasure that waits."""
    require_owner(client, by=by)
    rights = _locked(client, at)
    if rights.erasure is None or not rights.is_requested:
        raise PrivacyRefused(_("No erasure is waiting."), code="not_requested")
    return _step(rights.client, ErasureStep.STOPPED, rights.erasure.reason, by, at)


@transaction.atomic
def erase_client(*, client: Client, by: Staff, at: dt.datetime) -> Erasure:
    """Erase a client's data as an owner, once the wait is over."""
    require_owner(client, by=by)
    rights = _locked(client, at)
    if rights.erasure is None or rights.due_at is None:
        raise PrivacyRefused(_("No erasure is waiting."), code="not_requested")
    if rights.due_at > at:
        raise PrivacyRefused(_("The days of waiting are not over yet."), code="too_early")
    _check_idle(rights)
    return erase(client=rights.client, reason=rights.erasure.reason, recorded_by=by, at=at)


def erase(
    *,
    client: Client,
    reason: str,
    at: dt.datetime,
    recorded_by: Staff | None = None,
    until: dt.date | None = None,
) -> Erasure:
    """Make what is known of a person unreadable for good, but for what a claim may need.

    Called inside a transaction by what has asked who may. `until` is given by a list that is
    replayed; else it follows from the records.
    """
    root, ids = person.root(client), person.ids_of(client)
    entries = Client.objects.filter(pk__in=ids).values_list("pk", "name", "registered_at")
    names = "; ".join(name for _pk, name, _registered_at in entries)
    evidence = holdings.evidence_of(ids)
    keep = until or selectors.kept_until(salon=root.salon, evidence=evidence, at=at)
    remove_all_photos(stored_photos(client=root), RemovalReason.ERASED, recorded_by, at)
    end_moves(client_ids=ids, at=at)
    holdings.blank(ids)
    Client.objects.filter(pk__in=ids).update(shut=Shut.ERASED)
    possible_duplicates.refresh(ids)
    row = _step(
        root,
        ErasureStep.DONE,
        reason,
        recorded_by,
        at,
        kept_until=keep,
        name=names[:400] if keep else "",
    )
    purposes = [keys.Purpose.ORDINARY] if keep else list(keys.Purpose)
    keys.destroy(ids, purposes=purposes, at=at)
    files.end_files(salon=root.salon, at=at)
    lines = [erasure_list.line_of(pk, moment, keep) for pk, _name, moment in entries]
    transaction.on_commit(partial(erasure_list.add, lines))
    return row


def end_keeping(*, client: Client, reason: str, at: dt.datetime) -> Erasure:
    """Destroy what was kept of somebody for claims; called by a retention run."""
    ids = person.ids_of(client)
    row = _step(person.root(client), ErasureStep.ENDED, reason, None, at)
    keys.destroy(ids, purposes=list(keys.Purpose), at=at)
    return row


@transaction.atomic
def restrict_client(*, client: Client, reason: str, by: Staff, at: dt.datetime) -> Restriction:
    """Shut a client's record but for storage."""
    require_owner(client, by=by)
    rights = _locked(client, at)
    _check_idle(rights)
    if rights.is_erased or rights.is_restricted:
        raise PrivacyRefused(_("This is on record already."), code="shut")
    if rights.is_requested:
        raise PrivacyRefused(_("An erasure is waiting. Stop it first."), code="already")
    return _restrict(rights.client, reason, by, at, is_on=True)


@transaction.atomic
def lift_restriction(
    *, client: Client, is_client_informed: bool, by: Staff, at: dt.datetime
) -> Restriction:
    """Open a record again, after the client was informed (GDPR, article 18 (3))."""
    require_owner(client, by=by)
    rights = _locked(client, at)
    if rights.restriction is None or not rights.is_restricted:
        raise PrivacyRefused(_("This record is not shut."), code="open")
    if not is_client_informed:
        raise PrivacyRefused(_("Tell the client first, then tick it."), code="not_informed")
    return _restrict(rights.client, rights.restriction.reason, by, at, is_on=False)


def _restrict(
    client: Client, reason: str, by: Staff, at: dt.datetime, *, is_on: bool
) -> Restriction:
    row = Restriction(client=client, is_on=is_on, reason=reason, recorded_by=by, recorded_at=at)
    row.full_clean()
    row.save()
    shut = Shut.RESTRICTED if is_on else Shut.NOT
    Client.objects.filter(pk__in=person.ids_of(client)).update(shut=shut)
    kind = "record shut" if is_on else "record opened again"
    audit.record_event(kind, target=client, by=by, at=at, reason=reason)
    return row


def _step(
    client: Client, step: str, reason: str, by: Staff | None, at: dt.datetime, **more: object
) -> Erasure:
    row = Erasure(
        client=client, step=step, reason=reason, recorded_by=by, recorded_at=at, **more
    )
    row.full_clean()
    row.save()
    audit.record_event(f"erasure {step}", target=client, by=by, at=at, reason=reason)
    return row


def _locked(client: Client, at: dt.datetime) -> selectors.Rights:
    """Hold the person's rows, so that two owners come one after the other."""
    rows = Client.objects.filter(pk__in=person.ids_of(client)).order_by("pk")
    list(rows.select_for_update(no_key=True))
    fresh = Client.objects.select_related("salon", "merged_into").get(pk=client.pk)
    return selectors.rights_of(client=fresh, at=at)


def _check_idle(rights: selectors.Rights) -> None:
    if rights.is_busy:
        raise PrivacyRefused(
            _("Something is booked or going on. Cancel or finish it first."), code="busy"
        )
