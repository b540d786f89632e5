"""Locking, unlocking and handing on the tablet; PINs; the owner's list of devices."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from salon import access, registry, selectors
from salon.access import DESK, OWNER, SalonRequest, allow
from salon.models import Device
from salon.submissions import once
from salon.tablet import cookie, proof, return_path, screen, services, sitting
from salon.tablet.forms import DeviceForm, OwnPinForm, PasswordForm, SwitchForm, UnlockForm
from salon.tablet.idle import is_background_request


@allow(DESK)
@require_http_methods(["GET", "POST"])
@sensitive_post_parameters("pin", "password", "code")
def locked(request: SalonRequest) -> HttpResponse:
    """Unlock by PIN or password, and go on where one was.

    Over a page that stays as it is, the answer is a fragment: nothing typed there is lost.
    """
    held = sitting.read(request)
    can_pin = bool(held and held.can_pin) and proof.takes_pin(request)
    form = UnlockForm(
        _posted(request),
        can_pin=can_pin,
        needs_code=proof.needs_code(request),
        has_passkey=bool(held and held.has_passkey),
        auto_id="cover_%s" if request.htmx else "unlock_%s",
    )
    if request.method == "POST" and form.is_valid():
        if proof.prove(request, form, at=timezone.now()):
            if request.htmx:
                return HttpResponse(status=204, headers={"HX-Trigger": "sitting-unlocked"})
            return redirect(return_path.requested(request))
    elif request.method == "GET" and held and not held.is_locked:
        return redirect(return_path.requested(request))
    status = 422 if form.errors else 200
    context = {"cover_form": form, "next": return_path.requested(request)}
    name = "salon/_unlock.html" if request.htmx else "salon/locked.html"
    return render(request, name, {**context, "in_place": request.htmx}, status=status)


@allow(DESK)
@require_POST
def lock(request: SalonRequest) -> HttpResponse:
    """Lock at once, before going away from the screen."""
    sitting.lock(request)
    if is_background_request(request):
        return HttpResponse(status=204)
    back = urlencode({"next": return_path.of_request(request)})
    return redirect(f"{reverse('salon:locked')}?{back}")


@allow(DESK)
@require_POST
def awake(request: SalonRequest) -> HttpResponse:
    """Hear how long the screen was left alone (the middleware notes it); say what remains."""
    held = sitting.read(request)
    if held is None or held.is_locked:
        return HttpResponse(status=423)
    left = int(held.seconds_left(timezone.now()))
    return HttpResponse(status=204, headers={"X-Lock-In": str(left)})


@allow(DESK)
@require_http_methods(["GET", "POST"])
@sensitive_post_parameters("pin")
def switch(request: SalonRequest) -> HttpResponse:
    """Hand the tablet to a colleague who enters their PIN."""
    device = proof.pin_device(request)
    if device is None:
        raise Http404(_("You can only switch by PIN on an enrolled device."))
    form = SwitchForm(_posted(request), auto_id="switch_%s")
    if request.method == "POST" and form.is_valid():
        now = timezone.now()
        chosen = services.try_pin(
            staff_id=form.cleaned_data["staff"],
            pin=form.cleaned_data["pin"],
            device=device,
            at=now,
        )
        if chosen:
            services.record_switch(to=chosen, from_=request.user, device=device, at=now)
            sitting.hand_to(request, chosen, at=now)
            return redirect("salon:home")
        form.add_error("pin", proof.refusal())
    people = selectors.people_with_pin(salon=request.salon)
    context: dict[str, object] = {"form": form, "people": people, "device": device}
    status = 422 if form.errors else 200
    return render(request, "salon/switch.html", context, status=status)


@allow(DESK)
@require_http_methods(["GET", "POST"])
@sensitive_post_parameters("pin", "again", "password")
def own_pin(request: SalonRequest) -> HttpResponse:
    """Set or change one's own PIN; the password is asked for."""
    form = OwnPinForm(_posted(request))
    if request.method == "POST" and form.is_valid():
        if proof.is_password(request, request.user, form.cleaned_data["password"]):
            services.set_pin(by=request.user, pin=form.cleaned_data["pin"], at=timezone.now())
            sitting.note(request, has_pin=True)
            messages.success(request, _("Your PIN is set. Keep it to yourself."))
            return redirect("salon:own_pin")
        form.add_error("password", _("This is not the password of the person signed in."))
    return _own_pin_page(request, form, PasswordForm(auto_id="remove_%s"))


@allow(DESK)
@require_POST
@sensitive_post_parameters("password")
def remove_pin(request: SalonRequest) -> HttpResponse:
    """Take one's own PIN away; the password is asked for."""
    form = PasswordForm(request.POST, auto_id="remove_%s")
    if form.is_valid():
        if proof.is_password(request, request.user, form.cleaned_data["password"]):
            services.remove_pin(by=request.user, at=timezone.now())
            sitting.note(request, has_pin=False)
            messages.success(request, _("Your PIN is removed."))
            return redirect("salon:own_pin")
        form.add_error("password", _("This is not the password of the person signed in."))
    return _own_pin_page(request, OwnPinForm(), form)


@allow(OWNER)
@require_POST
def remove_member_pin(request: SalonRequest, pk: int) -> HttpResponse:
    """Take a member's PIN away; nobody else's PIN or password is asked for."""
    member = access.staff_or_404(request, pk)
    if services.remove_pin_of(member=member, by=request.user, at=timezone.now()):
        messages.success(request, _("The PIN is removed."))
    if member == request.user:
        sitting.note(request, has_pin=False)
    return redirect("salon:change_member", pk)


@allow(OWNER)
@require_GET
def devices(request: SalonRequest) -> HttpResponse:
    """List the devices on which people switch by PIN."""
    return _devices_page(request, DeviceForm())


@allow(OWNER)
@once
@require_POST
def enrol_device(request: SalonRequest) -> HttpResponse:
    """Enrol the device that this page is open on."""
    form = DeviceForm(request.POST)
    if cookie.device_of(request, request.salon):
        messages.info(request, _("This device is enrolled already."))
        return redirect("salon:devices")
    if not form.is_valid():
        return _devices_page(request, form)
    device, token = services.enrol_device(
        name=form.cleaned_data["name"], by=request.user, at=timezone.now()
    )
    sitting.note(request, device=device.pk)
    response = redirect("salon:devices")
    cookie.give(response, token)
    return response


@allow(OWNER)
@require_POST
def revoke_device(request: SalonRequest, pk: int) -> HttpResponse:
    """End a device's enrolment; whoever is signed in on it is signed out."""
    device = access.device_or_404(request, pk)
    here = cookie.device_of(request, request.salon)
    services.revoke_device(device=device, by=request.user, at=timezone.now())
    response = redirect("salon:devices")
    if here == device:
        sitting.note(request, device=None)
        cookie.take_away(response)
    return response


def _posted(request: SalonRequest) -> Any:
    """Return what was sent, also when that is nothing; None when nothing was to be sent."""
    return request.POST if request.method == "POST" else None


def _own_pin_page(
    request: SalonRequest, form: OwnPinForm, removal: PasswordForm
) -> HttpResponse:
    context = {
        "form": form,
        "removal": removal,
        "has_pin": selectors.has_pin(staff=request.user),
    }
    status = 422 if form.errors or removal.errors else 200
    return render(request, "salon/own_pin.html", context, status=status)


def _devices_page(request: SalonRequest, form: DeviceForm) -> HttpResponse:
    here: Device | None = cookie.device_of(request, request.salon)
    context = {
        "form": form,
        "here": here,
        "screen": screen.last_check(request, here),
        "screen_check": registry.screen_check(),
        "own_authority": settings.OWN_AUTHORITY,
        "devices": selectors.devices(salon=request.salon),
    }
    status = 422 if form.errors else 200
    return render(request, "salon/devices.html", context, status=status)
