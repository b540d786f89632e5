"""The second step of a sign-in; one's own second factor; a colleague's that is lost."""

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from salon import access, known_browser, selectors
from salon import services as house
from salon.access import DESK, OWNER, SalonRequest, allow
from salon.drawing.qr import qr_svg
from salon.models import Staff
from salon.passkeys import ceremony
from salon.second_factor import backend, codes, half, services
from salon.second_factor.forms import CodeForm, ProofForm, SetUpForm
from salon.tablet import cookie, proof, return_path

REPLACING = "second_factor_replaced"  # another app is to take the place of the one there is
PENDING = "second_factor_pending"  # the secret that is being set up, sealed


def come_in(request: HttpRequest, staff: Staff, *, back: str) -> HttpResponse:
    """Sign somebody in who has given all that is asked; an enrolled device stays enrolled."""
    login(request, staff, backend=settings.AUTHENTICATION_BACKENDS[-1])
    request.session.pop(half.KEY, None)
    house.record_sign_in(by=staff, at=timezone.now())
    safe = url_has_allowed_host_and_scheme(
        back, {request.get_host()}, require_https=request.is_secure()
    )
    response = redirect(back if safe and back.startswith("/") else "salon:home")
    token = request.COOKIES.get(settings.DEVICE_COOKIE_NAME)
    if token and cookie.device_of(request, staff.salon):
        cookie.give(response, token)
    known_browser.remember(request, response, staff)
    return response


@login_not_required
@never_cache
@require_http_methods(["GET", "POST"])
@sensitive_post_parameters("code", "passkey")
def second_step(request: HttpRequest) -> HttpResponse:
    """Ask for the code, once the password was right."""
    now = timezone.now()
    staff = half.whose(request, at=now)
    if request.user.is_authenticated:
        return redirect("salon:home")
    if staff is None:
        return redirect("salon:sign_in")
    form = CodeForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        if backend.is_second(request, staff, **form.cleaned_data):
            return come_in(request, staff, back=half.back(request))
        house.record_refusal(username=staff.username, at=now)
        form.add_error("code", _wrong())
    status = 422 if form.errors else 200
    context = {
        "form": form,
        "has_app": selectors.has_app(staff=staff),
        "has_passkey": selectors.has_passkey(staff=staff) and ceremony.works_here(request),
    }
    return render(request, "salon/second_step.html", context, status=status)


@allow(DESK, by_pin=False)
@require_http_methods(["GET", "POST"])
@sensitive_post_parameters("password", "code", "passkey")
def second_factor(request: SalonRequest) -> HttpResponse:
    """Set up one's own second factor, or show that it is there."""
    has_one = selectors.has_second_factor(staff=request.user)
    if has_one and not request.session.get(REPLACING):
        return manage_page(request)
    secret = _pending(request)
    form = SetUpForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        staff = access.staff_or_404(request, request.user.pk)
        if not proof.is_password(request, staff, form.cleaned_data["password"]):
            form.add_error("password", _("This is not the password of the person signed in."))
        else:
            try:
                made = services.set_up_second_factor(
                    secret=secret, code=form.cleaned_data["code"], by=staff, at=timezone.now()
                )
                back = return_path.requested(request)
                request.session.pop(PENDING, None)
                request.session.pop(REPLACING, None)
                request.session.cycle_key()  # the service has ended the session, too
                login(request, staff, backend=settings.AUTHENTICATION_BACKENDS[-1])
                return codes_page(request, made, back)
            except services.CodeRefused as refusal:
                form.add_error("code", str(refusal))
    address = codes.address(secret, username=request.user.username, salon=request.salon.name)
    context = {
        "form": form,
        "qr": qr_svg(address, title=_("QR code for the app"), scale=4),
        "readable": codes.readable(secret),
        "address": address,
        "has_one": has_one,
        "is_owed": selectors.owes_second_factor(staff=request.user),
        "next": return_path.requested(request),
    }
    status = 422 if form.errors else 200
    return render(request, "salon/second_factor_set_up.html", context, status=status)


@allow(DESK, by_pin=False)
@require_POST
@sensitive_post_parameters("password", "code", "passkey")
def recovery_codes(request: SalonRequest) -> HttpResponse:
    """Make other recovery codes, and show them this once."""
    form = ProofForm(request.POST, auto_id="codes_%s")
    if not is_proven(request, form):
        return manage_page(request, codes=form)
    made = services.renew_recovery_codes(by=request.user, at=timezone.now())
    return codes_page(request, made, "/")


@allow(DESK, by_pin=False)
@require_POST
@sensitive_post_parameters("password", "code", "passkey")
def replace(request: SalonRequest) -> HttpResponse:
    """Set up another app; the one there is counts until the new one is proven."""
    form = ProofForm(request.POST, auto_id="other_%s")
    if not is_proven(request, form):
        return manage_page(request, other=form)
    request.session[REPLACING] = True
    return redirect("salon:second_factor")


@allow(DESK, by_pin=False)
@require_POST
@sensitive_post_parameters("password", "code", "passkey")
def turn_off(request: SalonRequest) -> HttpResponse:
    """Sign in by password alone from now on."""
    form = ProofForm(request.POST, auto_id="off_%s")
    if is_proven(request, form):
        try:
            services.turn_off_second_factor(by=request.user, at=timezone.now())
            messages.success(request, _("You sign in with your password alone again."))
            return redirect("salon:account")
        except services.SecondFactorNeeded as refusal:
            form.add_error(None, str(refusal))
    return manage_page(request, off=form)


@allow(OWNER)
@require_POST
def remove_of_member(request: SalonRequest, pk: int) -> HttpResponse:
    """Remove a colleague's lost second factor."""
    member = access.staff_or_404(request, pk)
    try:
        if services.remove_second_factor_of(member=member, by=request.user, at=timezone.now()):
            messages.success(request, _("The second factor is removed."))
    except services.SecondFactorNeeded as refusal:
        messages.warning(request, str(refusal))
        return redirect("salon:second_factor")
    return redirect("salon:change_member", pk)


def _pending(request: SalonRequest) -> bytes:
    """Return the secret that is being set up, the same until it is taken."""
    kept = request.session.get(PENDING)
    secret = codes.opened(kept) if kept else None
    if secret is None:
        secret = codes.new_secret()
        request.session[PENDING] = codes.sealed(secret)
    return secret


def is_proven(request: SalonRequest, form: ProofForm) -> bool:
    """Return whether a form proves both factors of whoever is signed in."""
    if not form.is_valid() or not selectors.has_second_factor(staff=request.user):
        return False
    if not proof.is_password(request, request.user, form.cleaned_data["password"]):
        form.add_error("password", _("This is not the password of the person signed in."))
    elif not backend.is_second(
        request,
        request.user,
        code=form.cleaned_data["code"],
        passkey=form.cleaned_data["passkey"],
    ):
        form.add_error("code", _wrong())
    return not form.errors


def _wrong() -> str:
    return _("This code is wrong or already used. Enter the next one that the app shows.")


def codes_page(request: SalonRequest, made: tuple[str, ...], back: str) -> HttpResponse:
    """Show recovery codes, this once."""
    context: dict[str, object] = {"codes": made, "next": back, "made_at": timezone.now()}
    return render(request, "salon/recovery_codes.html", context)


def manage_page(request: SalonRequest, **sent: ProofForm) -> HttpResponse:
    """Show the forms of the page; the one that was sent keeps what it says."""
    if not selectors.has_second_factor(staff=request.user):
        return redirect("salon:second_factor")
    context = {
        "passkey_proof": ProofForm(auto_id="passkey_%s"),
        "codes": ProofForm(auto_id="codes_%s"),
        "other": ProofForm(auto_id="other_%s"),
        "off": ProofForm(auto_id="off_%s"),
        **sent,
        "passkeys": selectors.passkeys_of(staff=request.user),
        "has_app": selectors.has_app(staff=request.user),
        "works_here": ceremony.works_here(request),
        "left": selectors.recovery_codes_left(staff=request.user),
        "may_turn_off": not selectors.owes_second_factor(staff=request.user, has_one=False),
    }
    status = 422 if any(form.errors for form in sent.values()) else 200
    return render(request, "salon/second_factor.html", context, status=status)
