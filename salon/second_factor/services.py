"""Writes about second factors."""

import datetime as dt

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from salon import audit, passwords, selectors
from salon.models import (
    CODE_TRIES,
    Passkey,
    RecoveryCode,
    SecondFactor,
    Staff,
    StaffSession,
)
from salon.policies import require_owner
from salon.refusals import Refused
from salon.second_factor import codes

RECOVERY_CODES = 10


class CodeRefused(Refused):
    """Raised when a code is not the one that the app shows now."""


class SecondFactorNeeded(Refused):
    """Raised with the reason why someone cannot do without their second factor."""


@transaction.atomic
def set_up_second_factor(
    *, secret: bytes, code: str, by: Staff, at: dt.datetime
) -> tuple[str, ...]:
    """Take an app as the actor's second factor; return the recovery codes.

    Every session of theirs ends: whoever else was in does not stay in.
    """
    step = codes.step_of(secret, codes.typed(code), at=at.timestamp())
    if step is None:
        raise CodeRefused(_("This is not the code that the app shows now. Enter the next one."))
    SecondFactor.objects.filter(staff=by).delete()
    factor = SecondFactor.objects.create(
        staff=by, secret=codes.sealed(secret), set_at=at, last_step=step
    )
    StaffSession.objects.filter(staff_id=by.pk).delete()
    audit.record_event("second factor set", target=by, by=by, at=at)
    return _new_recovery_codes(factor)


def accept_code(*, staff: Staff, code: str, at: dt.datetime) -> bool:
    """Return whether a code is right, and use it up: of the app, or for recovery.

    The try is counted first and for good, whatever happens to the request afterwards.
    """
    factor = _counted(staff)
    if factor is None:
        return False
    plain = codes.typed(code)
    if codes.is_from_app(plain):
        return factor.wrong_tries <= CODE_TRIES and _use_step(factor, plain, at)
    return _use_recovery_code(factor, plain, at)


@transaction.atomic
def begin_recovery_codes(*, by: Staff, at: dt.datetime) -> tuple[str, ...]:
    """Note that the actor has a second factor now; return recovery codes if it is the first."""
    factor, is_first = SecondFactor.objects.get_or_create(staff=by, defaults={"set_at": at})
    return _new_recovery_codes(factor) if is_first else ()


@transaction.atomic
def renew_recovery_codes(*, by: Staff, at: dt.datetime) -> tuple[str, ...]:
    """Give the actor other recovery codes; those before count no more."""
    factor = SecondFactor.objects.get(staff=by)
    factor.recovery_codes.all().delete()
    audit.record_event("recovery codes made", target=by, by=by, at=at)
    return _new_recovery_codes(factor)


@transaction.atomic
def turn_off_second_factor(*, by: Staff, at: dt.datetime) -> None:
    """Let the actor sign in by password alone again, where the salon and it allow that.

    Passkeys go along: they are a second factor too.
    """
    if selectors.owes_second_factor(staff=by, has_one=False):
        raise SecondFactorNeeded(
            _("This salon’s rules ask owners for a second factor."), code="rules"
        )
    if by.has_short_password:
        raise SecondFactorNeeded(
            _("Your password is shorter than 15 characters. Change it first."),
            code="short_password",
        )
    _remove(by, by, at)


@transaction.atomic
def remove_second_factor_of(*, member: Staff, by: Staff, at: dt.datetime) -> bool:
    """Remove a colleague's lost second factor, as an owner; return whether there was one."""
    require_owner(member, by=by)
    if member == by:
        raise SecondFactorNeeded(_("Your own second factor is under your name."), code="own")
    return _remove(member, by, at)


@transaction.atomic
def remove_second_factor_by_command(*, member: Staff, at: dt.datetime) -> bool:
    """Remove a second factor for whoever runs the server: the way back for a sole owner."""
    return _remove(member, None, at)


def _remove(member: Staff, by: Staff | None, at: dt.datetime) -> bool:
    deleted, _rows = SecondFactor.objects.filter(staff=member).delete()
    keys, _rows = Passkey.objects.filter(staff=member).delete()
    if deleted or keys:
        audit.record_event("second factor removed", target=member, by=by, at=at)
    return bool(deleted or keys)


def _new_recovery_codes(factor: SecondFactor) -> tuple[str, ...]:
    made: dict[str, str] = {}
    while len(made) < RECOVERY_CODES:
        code = passwords.one_time_password()
        made.setdefault(code[:4], code)
    RecoveryCode.objects.bulk_create(
        RecoveryCode(factor=factor, name=name, secret=make_password(codes.typed(code)[4:]))
        for name, code in made.items()
    )
    return tuple(made.values())


def _counted(staff: Staff) -> SecondFactor | None:
    with transaction.atomic(durable=True):
        mine = SecondFactor.objects.filter(staff=staff, staff__is_active=True)
        if not mine.update(wrong_tries=F("wrong_tries") + 1):
            return None
        return mine.select_related("staff").get()


def _use_step(factor: SecondFactor, code: str, at: dt.datetime) -> bool:
    secret = codes.opened(factor.secret)
    if secret is None:
        return False
    step = codes.step_of(secret, code, at=at.timestamp(), after=factor.last_step)
    if step is None:
        return False
    # One update: of two who send the same code at once, one is let in.
    used = SecondFactor.objects.filter(pk=factor.pk, last_step__lt=step).update(
        last_step=step, wrong_tries=0, secret=codes.sealed_again(factor.secret)
    )
    return bool(used)


@transaction.atomic
def _use_recovery_code(factor: SecondFactor, code: str, at: dt.datetime) -> bool:
    if len(code) != codes.RECOVERY_LETTERS:
        return False
    kept = factor.recovery_codes.filter(name=code[:4], used_at=None).first()
    if kept is None or not check_password(code[4:], kept.secret):
        return False
    if not factor.recovery_codes.filter(pk=kept.pk, used_at=None).update(used_at=at):
        return False
    SecondFactor.objects.filter(pk=factor.pk).update(wrong_tries=0)
    left = factor.recovery_codes.filter(used_at=None).count()
    audit.record_event(
        "recovery code used", target=factor.staff, by=factor.staff, at=at, left=left
    )
    return True
