"""Reads of the ground floor."""

import datetime as dt

from django.db.models import F, QuerySet

from salon import user_names
from salon.models import (
    AuditEvent,
    Device,
    LinkedAccount,
    Passkey,
    Policy,
    RecoveryCode,
    Role,
    Salon,
    SecondFactor,
    Staff,
    StaffPin,
    StaffSession,
)


def fresh(salon: Salon) -> Salon:
    """Return the salon's row as it is now, to be changed without the request's own copy."""
    return Salon.objects.get(pk=salon.pk)


def policy_in_force(*, salon: Salon) -> Policy:
    """Return the salon's latest policy; the careful defaults where none was recorded."""
    return Policy.objects.filter(salon=salon).first() or Policy(salon=salon, number=0)


def policy_history(*, salon: Salon) -> QuerySet[Policy]:
    """Return every policy of the salon, latest first."""
    return Policy.objects.filter(salon=salon).select_related("recorded_by")


def team(*, salon: Salon) -> QuerySet[Staff]:
    """Return everyone of the salon, also those who may no longer sign in."""
    return Staff.objects.in_salon(salon)


def is_taken(*, username: str) -> bool:
    """Return whether someone signs in with this name, in whichever salon."""
    return Staff.objects.filter(username=username).exists()


def looks_like_another(*, username: str) -> bool:
    """Return whether a user name can be mistaken for one that somebody signs in with."""
    wanted = user_names.skeleton(username)
    names = Staff.objects.values_list("username", flat=True).iterator()
    return any(user_names.skeleton(name) == wanted for name in names)


def sessions_of(*, staff: Staff, at: dt.datetime) -> QuerySet[StaffSession]:
    """Return somebody's sessions that have not ended."""
    return StaffSession.objects.filter(staff_id=staff.pk, expire_date__gt=at)


def columns(*, salon: Salon) -> QuerySet[Staff]:
    """Return those who take clients, in the diary's order."""
    return Staff.objects.with_column(salon)


def record_of_changes(*, salon: Salon) -> QuerySet[AuditEvent]:
    """Return the salon's audit events, latest first."""
    return AuditEvent.objects.filter(salon=salon)


def devices(*, salon: Salon) -> QuerySet[Device]:
    """Return every device that was ever enrolled, those in force first."""
    return (
        Device.objects.in_salon(salon)
        .select_related("enrolled_by", "revoked_by")
        .order_by(F("revoked_at").desc(nulls_first=True), "name", "pk")
    )


def device_in_force(*, salon: Salon, token_hash: str) -> Device | None:
    """Return the device that holds a token, or None."""
    return Device.objects.in_salon(salon).in_force().filter(token_hash=token_hash).first()


def is_enrolled(*, pk: int) -> bool:
    """Return whether a device is still enrolled."""
    return Device.objects.in_force().filter(pk=pk).exists()


def has_pin(*, staff: Staff) -> bool:
    """Return whether someone has set a PIN."""
    return StaffPin.objects.filter(staff=staff).exists()


def has_second_factor(*, staff: Staff) -> bool:
    """Return whether someone signs in with a second factor."""
    return SecondFactor.objects.filter(staff=staff).exists()


def has_app(*, staff: Staff) -> bool:
    """Return whether someone's second factor is, or is also, codes of an app."""
    return SecondFactor.objects.filter(staff=staff).exclude(secret="").exists()


def passkeys_of(*, staff: Staff) -> QuerySet[Passkey]:
    """Return somebody's passkeys, oldest first."""
    return Passkey.objects.filter(staff=staff)


def has_passkey(*, staff: Staff) -> bool:
    """Return whether someone has a passkey."""
    return passkeys_of(staff=staff).exists()


def has_linked_accounts(*, staff: Staff) -> bool:
    """Return whether someone has linked an account of another salon."""
    return LinkedAccount.objects.filter(staff=staff).exists()


def owes_second_factor(*, staff: Staff, has_one: bool | None = None) -> bool:
    """Return whether the salon asks someone for a second factor that they do not have."""
    if (
        staff.role != Role.OWNER
        or not policy_in_force(salon=staff.salon).owners_need_second_factor
    ):
        return False
    return not (has_second_factor(staff=staff) if has_one is None else has_one)


def recovery_codes_left(*, staff: Staff) -> int:
    """Return how many recovery codes someone has not used."""
    return RecoveryCode.objects.filter(factor__staff=staff, used_at=None).count()


def people_with_pin(*, salon: Salon) -> QuerySet[Staff]:
    """Return those who may be switched to by PIN, in the team's order."""
    return (
        Staff.objects.in_salon(salon)
        .filter(is_active=True, pin__isnull=False)
        .select_related("pin")
    )


def active_member(*, pk: int) -> Staff | None:
    """Return someone who may sign in, or None."""
    return Staff.objects.filter(pk=pk, is_active=True).first()
