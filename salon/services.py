"""Writes of the ground floor."""

import datetime as dt
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from salon import audit, languages, passwords, selectors
from salon.models import (
    Passkey,
    Policy,
    Role,
    Salon,
    SalonLogo,
    SecondFactor,
    Staff,
    StaffPin,
    StaffSession,
)
from salon.policies import require_owner
from salon.refusals import Refused

# How long a password counts that an owner has handed out.
ONE_TIME = dt.timedelta(days=3)


class PasswordRefused(Refused):
    """Raised with the reason why a password is not set."""


class LastOwner(Refused):
    """Raised when the change would leave the salon without an owner who can sign in."""


@transaction.atomic
def found_salon(
    *, at: dt.datetime, owner_username: str, owner_name: str, password: str, **fields: Any
) -> tuple[Salon, Staff]:
    """Create a salon with its first owner and the default policy."""
    salon = Salon(**fields)
    salon.full_clean()
    salon.save()
    owner = _save_member(
        salon=salon,
        username=owner_username,
        display_name=owner_name,
        role=Role.OWNER,
        password=password,
    )
    Policy.objects.create(salon=salon, number=1, recorded_at=at, recorded_by=owner)
    audit.record_event("salon founded", target=salon, by=owner, at=at)
    return salon, owner


@transaction.atomic
def add_member(
    *, by: Staff, at: dt.datetime, password: str, is_one_time: bool = False, **fields: Any
) -> Staff:
    """Add someone to the actor's salon; a one-time password is changed at the first sign-in."""
    require_owner(by=by)
    until = at + ONE_TIME if is_one_time else None
    member = _save_member(salon=by.salon, password=password, one_time_until=until, **fields)
    audit.record_event("member added", target=member, by=by, at=at, role=member.role)
    return member


@transaction.atomic
def change_password(*, password: str, by: Staff, at: dt.datetime) -> Staff:
    """Give the actor another password, of their own choice; all their sessions end."""
    if by.check_password(password):
        raise PasswordRefused(_("This is your current password. Choose another."), code="same")
    by.set_password(password)
    by.one_time_until = None
    by.has_short_password = len(password) < passwords.LEAST
    by.save(update_fields=["password", "one_time_until", "has_short_password"])
    _end_sessions(by)
    audit.record_event("password changed", target=by, by=by, at=at)
    return by


@transaction.atomic
def reset_password(*, member: Staff, by: Staff, at: dt.datetime) -> str:
    """Return a one-time password for a member, as an owner; their sessions end at once."""
    require_owner(member, by=by)
    if member == by:
        raise PasswordRefused(_("Change your own password under your name."), code="own")
    password = passwords.one_time_password()
    member.set_password(password)
    member.one_time_until = at + ONE_TIME
    member.has_short_password = False
    member.save(update_fields=["password", "one_time_until", "has_short_password"])
    _end_sessions(member)
    audit.record_event("password reset", target=member, by=by, at=at)
    return password


@transaction.atomic
def record_sign_in(*, by: Staff, at: dt.datetime) -> None:
    """Record that somebody came in with name and password."""
    audit.record_event("signed in", target=by, by=by, at=at)


@transaction.atomic
def record_refusal(*, username: str, at: dt.datetime) -> None:
    """Record that a sign-in failed, where the name is somebody's."""
    found = Staff.objects.filter(username=username).select_related("salon").first()
    if found:
        audit.record_event("sign-in refused", target=found, by=None, at=at)


@transaction.atomic
def end_session(*, session_key: str, by: Staff, at: dt.datetime) -> bool:
    """End one of the actor's sessions; return whether there was one."""
    ended, _rows = StaffSession.objects.filter(staff_id=by.pk, session_key=session_key).delete()
    if ended:
        audit.record_event("session ended", target=by, by=by, at=at)
    return bool(ended)


@transaction.atomic
def change_member(*, member: Staff, by: Staff, at: dt.datetime, **fields: Any) -> Staff:
    """Change a member's role, column or right to sign in; an owner always remains."""
    require_owner(member, by=by)
    changed = _changed(Staff.objects.get(pk=member.pk), fields)
    for name, value in fields.items():
        setattr(member, name, value)
    member.full_clean(exclude=["password"])
    member.save()
    if not selectors.team(salon=by.salon).filter(role=Role.OWNER, is_active=True).exists():
        raise LastOwner(_("The salon needs at least one owner who can sign in."))
    if changed.get("is_active") == [True, False]:  # who leaves takes no way in along
        _end_sessions(member)
        StaffPin.objects.filter(staff=member).delete()
        if Passkey.objects.filter(staff=member).delete()[0]:
            SecondFactor.objects.filter(staff=member, secret="").delete()
    audit.record_event(
        "member changed", target=member, by=by, at=at, role=member.role, changed=changed
    )
    return member


@transaction.atomic
def choose_language(*, language: str, by: Staff, at: dt.datetime) -> Staff:
    """Speak a language to someone from now on, wherever they sign in."""
    _check_offered(language)
    by.language = language
    by.save(update_fields=["language"])
    audit.record_event("language chosen", target=by, by=by, at=at, language=language)
    return by


@transaction.atomic
def change_salon(*, by: Staff, at: dt.datetime, **fields: Any) -> Salon:
    """Change what the salon is called and how it is reached; papers say it from now on."""
    require_owner(by=by)
    salon = Salon.objects.select_for_update().get(pk=by.salon_id)
    changed = sorted(name for name, value in fields.items() if getattr(salon, name) != value)
    for name, value in fields.items():
        setattr(salon, name, value)
    salon.full_clean()
    salon.save(update_fields=list(fields))
    audit.record_event("salon changed", target=salon, by=by, at=at, changed=changed)
    return salon


@transaction.atomic
def set_logo(*, content: bytes, by: Staff, at: dt.datetime) -> SalonLogo:
    """Keep a picture, already encoded again, as the salon's logo in place of any before."""
    require_owner(by=by)
    logo, _new = SalonLogo.objects.update_or_create(
        salon=by.salon, defaults={"content": content, "changed_at": at}
    )
    audit.record_event("logo changed", target=by.salon, by=by, at=at)
    return logo


@transaction.atomic
def remove_logo(*, by: Staff, at: dt.datetime) -> None:
    """Show the salon's name alone again."""
    require_owner(by=by)
    removed, _rows = SalonLogo.objects.filter(salon=by.salon).delete()
    if removed:
        audit.record_event("logo removed", target=by.salon, by=by, at=at)


@transaction.atomic
def speak_to_clients(*, language: str, by: Staff, at: dt.datetime) -> Salon:
    """Choose the language of what clients get, unless theirs is another."""
    require_owner(by=by)
    _check_offered(language)
    by.salon.language = language
    by.salon.save(update_fields=["language"])
    audit.record_event(
        "salon language chosen", target=by.salon, by=by, at=at, language=language
    )
    return by.salon


@transaction.atomic
def revise_policy(*, by: Staff, at: dt.datetime, **fields: Any) -> Policy:
    """Put a new policy in force; earlier ones stay on record."""
    require_owner(by=by)
    current = selectors.policy_in_force(salon=by.salon)
    policy = Policy(
        salon=by.salon, number=current.number + 1, recorded_at=at, recorded_by=by, **fields
    )
    policy.full_clean()
    policy.save()
    changed = _changed(current, fields)
    audit.record_event(
        "policy revised", target=policy, by=by, at=at, number=policy.number, changed=changed
    )
    return policy


@transaction.atomic
def put_first_steps_away(*, by: Staff, at: dt.datetime) -> None:
    """Start the owners' day on their usual page, however much is still to do."""
    require_owner(by=by)
    Salon.objects.filter(pk=by.salon_id).update(first_steps_put_away=True)
    audit.record_event("first steps put away", target=by.salon, by=by, at=at)


@transaction.atomic
def decline_first_step(*, step: str, by: Staff, at: dt.datetime) -> None:
    """Do without a first step; it counts as settled from now on."""
    require_owner(by=by)
    salon = Salon.objects.select_for_update().get(pk=by.salon_id)
    salon.steps_declined = sorted({*salon.steps_declined, step})
    salon.save(update_fields=["steps_declined"])
    audit.record_event("first step declined", target=salon, by=by, at=at, step=step)


def _save_member(*, password: str, **fields: Any) -> Staff:
    member = Staff(**fields)
    member.set_password(password)
    member.full_clean()
    member.save()
    return member


def _changed(record: Staff | Policy, fields: dict[str, object]) -> dict[str, list[Any]]:
    """Return what changes, from what to what; of names and addresses only that they do."""
    found: dict[str, list[Any]] = {}
    for name, value in fields.items():
        before = getattr(record, name)
        if before != value:
            is_code = isinstance(value, bool | int) or name in {"role", "language"}
            found[name] = [before, value] if is_code else []
    return found


def _end_sessions(staff: Staff) -> None:
    StaffSession.objects.filter(staff_id=staff.pk).delete()


def _check_offered(language: str) -> None:
    if languages.first_known(language) != language:
        raise ValidationError(_("This language is not available."))
