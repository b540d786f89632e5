"""Writes about devices and PINs."""

import datetime as dt
import secrets

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F

from salon import audit
from salon.models import (
    DEVICE_TRIES,
    PIN_TRIES,
    Device,
    Salon,
    ScreenVerdict,
    Staff,
    StaffPin,
)
from salon.policies import require_owner
from salon.tablet import pins
from salon.tablet.cookie import hash_of


@transaction.atomic
def enrol_device(*, name: str, by: Staff, at: dt.datetime) -> tuple[Device, str]:
    """Enrol a device of the actor's salon; return it with the token that it is to keep."""
    require_owner(by=by)
    token = secrets.token_urlsafe(32)
    device = Device(
        salon=by.salon,
        name=name,
        token_hash=hash_of(token),
        enrolled_at=at,
        enrolled_by=by,
        last_used_at=at,
    )
    device.full_clean()
    device.save()
    audit.record_event("device enrolled", target=device, by=by, at=at)
    return device, token


@transaction.atomic
def revoke_device(*, device: Device, by: Staff, at: dt.datetime) -> None:
    """End a device's enrolment, and with its next request whatever is open on it."""
    require_owner(device, by=by)
    changed = Device.objects.in_force().filter(pk=device.pk)
    if changed.update(revoked_at=at, revoked_by=by):
        audit.record_event("device revoked", target=device, by=by, at=at)


@transaction.atomic
def record_screen_check(
    *, device: Device, verdict: ScreenVerdict, by: Staff, at: dt.datetime
) -> None:
    """Keep what a check of a device's screen said, in place of the one before."""
    require_owner(device, by=by)
    changed = Device.objects.in_force().filter(pk=device.pk)
    if changed.update(screen_verdict=verdict, screen_checked_at=at):
        audit.record_event("screen checked", target=device, by=by, at=at, verdict=str(verdict))


@transaction.atomic
def set_pin(*, by: Staff, pin: str, at: dt.datetime) -> StaffPin:
    """Give the actor a PIN, in place of an earlier one."""
    reason = pins.weakness(pin)
    if reason:
        raise ValidationError(reason)
    found, _made = StaffPin.objects.update_or_create(
        staff=by,
        defaults={
            "secret": pins.hashed(staff_id=by.pk, pin=pin),
            "set_at": at,
            "wrong_tries": 0,
        },
    )
    audit.record_event("PIN set", target=by, by=by, at=at)
    return found


@transaction.atomic
def remove_pin(*, by: Staff, at: dt.datetime) -> None:
    """Take the actor's PIN away."""
    deleted, _rows = StaffPin.objects.filter(staff=by).delete()
    if deleted:
        audit.record_event("PIN removed", target=by, by=by, at=at)


@transaction.atomic
def remove_pin_of(*, member: Staff, by: Staff, at: dt.datetime) -> bool:
    """Take somebody else's PIN away, as an owner; return whether there was one."""
    require_owner(member, by=by)
    deleted, _rows = StaffPin.objects.filter(staff=member).delete()
    if deleted:
        audit.record_event("PIN removed", target=member, by=by, at=at)
    return bool(deleted)


def try_pin(*, staff_id: int, pin: str, device: Device, at: dt.datetime) -> Staff | None:
    """Return whose PIN it is, or None: wrong, switched off, no PIN, another salon's.

    The try is counted first and for good, whatever happens to the request afterwards.
    """
    counted = _count_try(staff_id, device)
    is_right = pins.matches(
        staff_id=staff_id, pin=pin, secret=counted.secret if counted else None
    )
    if counted is None or not is_right:
        if counted is not None:
            _record_refusal(counted, device, at)
        return None
    with transaction.atomic():
        StaffPin.objects.filter(pk=counted.pk).update(wrong_tries=0)
        # Its own try is given back; other people's wrong ones count until a full login.
        Device.objects.filter(pk=device.pk, wrong_pins__gt=0).update(
            wrong_pins=F("wrong_pins") - 1, last_used_at=at
        )
    return counted.staff


def confirm_by_pin(*, staff_id: int, pin: str, by: Staff, at: dt.datetime) -> Staff | None:
    """Return the colleague whose PIN it is, as a second person beside the actor, or None.

    The try is counted first and for good, as in `try_pin`; nobody is their own second person.
    """
    if staff_id == by.pk:
        return None
    return _whose_pin(staff_id=staff_id, pin=pin, salon=by.salon, at=at)


def try_own_pin(*, by: Staff, pin: str, at: dt.datetime) -> bool:
    """Return whether it is the actor's own PIN, on a device that need not be enrolled.

    The try is counted first and for good, as in `try_pin`; after five the PIN is off.
    """
    return _whose_pin(staff_id=by.pk, pin=pin, salon=by.salon, at=at) is not None


def _whose_pin(*, staff_id: int, pin: str, salon: Salon, at: dt.datetime) -> Staff | None:
    with transaction.atomic(durable=True):
        theirs = StaffPin.objects.filter(
            staff_id=staff_id,
            staff__salon=salon,
            staff__is_active=True,
            wrong_tries__lt=PIN_TRIES,
        )
        counted = theirs.update(wrong_tries=F("wrong_tries") + 1)
        found = (
            StaffPin.objects.select_related("staff__salon").filter(staff_id=staff_id).first()
        )
    known = found if counted else None
    if not pins.matches(staff_id=staff_id, pin=pin, secret=known.secret if known else None):
        if known is not None:
            _record_refusal(known, None, at)
        return None
    if known is None:
        return None
    StaffPin.objects.filter(pk=known.pk).update(wrong_tries=0)
    return known.staff


@transaction.atomic
def record_switch(*, to: Staff, from_: Staff, device: Device, at: dt.datetime) -> None:
    """Record that a device went from one person to another by PIN."""
    audit.record_event(
        "switched by PIN", target=device, by=to, at=at, from_id=from_.pk, to_id=to.pk
    )


@transaction.atomic
def welcome_back(*, staff: Staff, device: Device | None, at: dt.datetime) -> None:
    """After a full login: the PIN counts from zero again, and so does the device."""
    pin = StaffPin.objects.filter(staff=staff, wrong_tries__gt=0).first()
    if pin:
        was_off = pin.is_off
        StaffPin.objects.filter(pk=pin.pk).update(wrong_tries=0)
        if was_off:
            audit.record_event("PIN switched on", target=staff, by=staff, at=at)
    if device:
        Device.objects.filter(pk=device.pk).update(wrong_pins=0, last_used_at=at)


def _count_try(staff_id: int, device: Device) -> StaffPin | None:
    """Count one try, and return the PIN that it may be compared with, or None.

    Durable: inside another transaction, whose failure would take the count back, it raises.
    """
    with transaction.atomic(durable=True):
        free = Device.objects.in_force().filter(pk=device.pk, wrong_pins__lt=DEVICE_TRIES)
        if not free.update(wrong_pins=F("wrong_pins") + 1):
            return None
        mine = StaffPin.objects.filter(
            staff_id=staff_id,
            staff__salon=device.salon_id,
            staff__is_active=True,
            wrong_tries__lt=PIN_TRIES,
        )
        if not mine.update(wrong_tries=F("wrong_tries") + 1):
            return None
        return StaffPin.objects.select_related("staff__salon").get(staff_id=staff_id)


def _record_refusal(pin: StaffPin, device: Device | None, at: dt.datetime) -> None:
    audit.record_event(
        "PIN switched off" if pin.is_off else "PIN refused",
        target=pin.staff,
        by=None,
        at=at,
        salon=pin.staff.salon,
        device_id=device.pk if device else None,
        tries=pin.wrong_tries,
    )
