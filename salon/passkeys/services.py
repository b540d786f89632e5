"""Writes about passkeys."""

import datetime as dt

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from salon import audit
from salon.models import Passkey, SecondFactor, Staff, StaffSession
from salon.passkeys.ceremony import Registered
from salon.refusals import Refused
from salon.second_factor.services import begin_recovery_codes

MOST = 10  # of one person


class PasskeyRefused(Refused):
    """Raised with the reason why a passkey is not taken, or not removed."""


@transaction.atomic
def add_passkey(
    *, name: str, registered: Registered, by: Staff, at: dt.datetime
) -> tuple[str, ...]:
    """Take a passkey of the actor's; return recovery codes where it is their first factor.

    Every session of theirs ends: whoever else was in does not stay in.
    """
    own = Passkey.objects.select_for_update().filter(staff=by)
    if len(own) >= MOST:
        raise PasskeyRefused(_("You have ten passkeys. Remove one first."), code="too_many")
    if Passkey.objects.filter(credential_id=registered.credential_id).exists():
        raise PasskeyRefused(_("This passkey is known already."), code="known")
    Passkey.objects.create(
        staff=by,
        name=name,
        credential_id=registered.credential_id,
        credential=registered.credential,
        user_handle=registered.user_handle,
        sign_count=registered.sign_count,
        added_at=at,
    )
    StaffSession.objects.filter(staff_id=by.pk).delete()
    audit.record_event("passkey added", target=by, by=by, at=at)
    return begin_recovery_codes(by=by, at=at)


@transaction.atomic
def rename_passkey(*, pk: int, name: str, by: Staff, at: dt.datetime) -> Passkey:
    """Call one of the actor's passkeys otherwise."""
    passkey = _own(by, pk)
    passkey.name = name
    passkey.clean_fields(exclude=["used_at"])
    passkey.save(update_fields=["name"])
    audit.record_event("passkey renamed", target=by, by=by, at=at)
    return passkey


@transaction.atomic
def remove_passkey(*, pk: int, by: Staff, at: dt.datetime) -> None:
    """Remove one of the actor's passkeys; what is left must still be a second factor."""
    passkey = _own(by, pk)
    others = Passkey.objects.select_for_update().filter(staff=by).exclude(pk=passkey.pk)
    if not others and not SecondFactor.objects.filter(staff=by).exclude(secret="").exists():
        raise PasskeyRefused(
            _("This is your only second factor. Add another first, or turn it off below."),
            code="last",
        )
    passkey.delete()
    audit.record_event("passkey removed", target=by, by=by, at=at)


@transaction.atomic
def accept_passkey(*, passkey: Passkey, sign_count: int, at: dt.datetime) -> bool:
    """Return whether the counter that a passkey has signed is later than the last one.

    One that goes back may be of a copy, and is refused (WebAuthn Level 3, 6.1.1); zero both
    times means that the authenticator does not count.
    """
    later = Q(sign_count__lt=sign_count) if sign_count else Q(sign_count=0)
    known = Passkey.objects.filter(later, pk=passkey.pk)
    if known.update(sign_count=sign_count, used_at=at):
        return True
    audit.record_event(
        "passkey refused", target=passkey.staff, by=None, at=at, counter=sign_count
    )
    return False


def _own(by: Staff, pk: int) -> Passkey:
    found = Passkey.objects.filter(pk=pk, staff=by).first()
    if found is None:
        raise PasskeyRefused(_("This passkey is not there."), code="gone")
    return found
