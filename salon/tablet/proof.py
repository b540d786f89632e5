"""Whether someone is who the sitting says: by password, or by PIN where one counts."""

import datetime as dt
from typing import Any

from django.contrib.auth import authenticate
from django.http import HttpRequest
from django.utils.translation import gettext as _

from salon import selectors
from salon.access import SalonRequest
from salon.models import Device, Staff
from salon.passkeys.backend import is_passkey
from salon.second_factor.backend import is_code
from salon.tablet import services, sitting
from salon.tablet.cookie import device_of


def pin_device(request: SalonRequest) -> Device | None:
    """Return the device on which a PIN counts now, or None.

    It must be enrolled, the sitting must have begun on it, and the full login that opened the
    sitting must still be good.
    """
    held = sitting.read(request)
    if held is None or held.device is None:
        return None
    device = device_of(request, request.salon)
    if device is None or device.pk != held.device or not sitting.is_opener_valid(held):
        return None
    return device


def takes_pin(request: SalonRequest) -> bool:
    """Return whether a PIN of whoever is signed in counts now.

    It does on an enrolled device. Elsewhere it does while the tablet is in a client's hands:
    then it opens no more than was open when the tablet was handed out.
    """
    return pin_device(request) is not None or _is_out_elsewhere(request)


def _is_out_elsewhere(request: SalonRequest) -> bool:
    held = sitting.read(request)
    return (
        held is not None
        and held.device is None
        and held.is_handed_out
        and sitting.is_opener_valid(held)
    )


def _is_pin(request: SalonRequest, pin: str, *, at: dt.datetime) -> bool:
    """Compare a PIN where it counts; each try is counted."""
    usable = pin_device(request)
    if usable:
        found = services.try_pin(staff_id=request.user.pk, pin=pin, device=usable, at=at)
        return found is not None
    return _is_out_elsewhere(request) and services.try_own_pin(by=request.user, pin=pin, at=at)


def is_password(request: HttpRequest, staff: Staff, password: str) -> bool:
    """Return whether it is their password; guessing is throttled as signing in is."""
    known = authenticate(request, username=staff.username, password=password)
    return known is not None and known.pk == staff.pk


def needs_code(request: SalonRequest) -> bool:
    """Return whether a code goes with the password: so far they came by PIN only."""
    held = sitting.read(request)
    by_pin = held is not None and held.how == sitting.PIN
    return by_pin and selectors.has_second_factor(staff=request.user)


def prove(request: SalonRequest, form: Any, *, at: dt.datetime) -> bool:
    """Go on with the sitting if the form's PIN or password is right, else add the error."""
    pin, password = form.cleaned_data.get("pin"), form.cleaned_data.get("password")
    device = device_of(request, request.salon)
    passkey = form.cleaned_data.get("passkey")
    if passkey:
        if is_passkey(request, request.user, passkey):
            _go_on(request, device, at)
            return True
        form.add_error(None, _("This passkey was not accepted. Try again."))
        return False
    if pin:
        if _is_pin(request, pin, at=at):
            sitting.prove(request, how=sitting.PIN, device=device, at=at)
            return True
        form.add_error("pin", refusal())
        return False
    if not is_password(request, request.user, password or ""):
        form.add_error("password", _("This is not the password of the person signed in."))
    elif needs_code(request) and not is_code(request, request.user, form.cleaned_data["code"]):
        form.add_error("code", _("This code is wrong or already used."))
    else:
        _go_on(request, device, at)
        return True
    return False


def _go_on(request: SalonRequest, device: Device | None, at: dt.datetime) -> None:
    sitting.prove(request, how=sitting.PASSWORD, device=device, at=at)
    services.welcome_back(staff=request.user, device=device, at=at)


def refusal() -> str:
    """Say that a PIN was not taken: the same words whatever the reason."""
    return _(
        "This PIN was not accepted. After five wrong tries a PIN is blocked "
        "until its owner signs in with the password."
    )
