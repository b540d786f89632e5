"""Writes of the ground floor."""

import datetime as dt
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from salon import audit, languages, selectors
from salon.models import Policy, Role, Salon, Staff
from salon.policies import require_owner


class LastOwner(Exception):
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
def add_member(*, by: Staff, at: dt.datetime, password: str, **fields: Any) -> Staff:
    """Add someone to the actor's salon."""
    require_owner(by=by)
    member = _save_member(salon=by.salon, password=password, **fields)
    audit.record_event("member added", target=member, by=by, at=at, role=member.role)
    return member


@transaction.atomic
def change_member(*, member: Staff, by: Staff, at: dt.datetime, **fields: Any) -> Staff:
    """Change a member's role, column or right to sign in; an owner always remains."""
    require_owner(member, by=by)
    for name, value in fields.items():
        setattr(member, name, value)
    member.full_clean(exclude=["password"])
    member.save()
    if not selectors.team(salon=by.salon).filter(role=Role.OWNER, is_active=True).exists():
        raise LastOwner(_("The salon needs at least one owner who can sign in."))
    audit.record_event("member changed", target=member, by=by, at=at, role=member.role)
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
def revise_policy(*, by: Staff, at: dt.datetime, **fields: int) -> Policy:
    """Put a new policy in force; earlier ones stay on record."""
    require_owner(by=by)
    current = selectors.policy_in_force(salon=by.salon)
    policy = Policy(
        salon=by.salon, number=current.number + 1, recorded_at=at, recorded_by=by, **fields
    )
    policy.full_clean()
    policy.save()
    audit.record_event("policy revised", target=policy, by=by, at=at, number=policy.number)
    return policy


@transaction.atomic
def put_first_steps_away(*, by: Staff, at: dt.datetime) -> None:
    """Start the owners' day on their usual page, however much is still to do."""
    require_owner(by=by)
    Salon.objects.filter(pk=by.salon_id).update(first_steps_put_away=True)
    audit.record_event("first steps put away", target=by.salon, by=by, at=at)


def _save_member(*, password: str, **fields: Any) -> Staff:
    member = Staff(**fields)
    member.set_password(password)
    member.full_clean()
    member.save()
    return member


def _check_offered(language: str) -> None:
    if languages.first_known(language) != language:
        raise ValidationError(_("This language is not available."))
