"""Signing in by passkey; one's own passkeys."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from salon import access, selectors
from salon import services as house
from salon.access import DESK, SalonRequest, allow
from salon.models import Passkey
from salon.passkeys import backend, ceremony, services
from salon.passkeys.forms import AddForm, NameForm, SignInByPasskeyForm
from salon.second_factor import half
from salon.second_factor import views as second_factor
from salon.second_factor.forms import ProofForm
from salon.tablet import proof, return_path, sitting
from salon.tablet.forms import PasswordForm

PROVEN = "passkey_proven"  # until when somebody has proven both factors, to add a passkey
LONGEST = 10 * 60  # seconds


@login_not_required
@never_cache
@require_POST
def options(request: HttpRequest) -> HttpResponse:
    """Begin a signature: of whoever is signed in, or half so; else of any passkey."""
    now = timezone.now()
    user: Any = request.user if request.user.is_authenticated else None
    staff = user or half.whose(request, at=now)
    return JsonResponse(
        {"publicKey": ceremony.begin_signing(request, staff, at=now)["publicKey"]}
    )


@login_not_required
@never_cache
@require_POST
@sensitive_post_parameters("passkey")
def sign_in(request: HttpRequest) -> HttpResponse:
    """Sign somebody in by a passkey alone: the device, and who it knows."""
    if request.user.is_authenticated:
        return redirect("salon:home")
    form = SignInByPasskeyForm(request.POST)
    if form.is_valid():
        answer = form.cleaned_data["passkey"]
        staff = backend.whose(request, answer)
        if staff is not None:
            return second_factor.come_in(request, staff, back=form.cleaned_data["next"])
        house.record_refusal(username=backend.owner_name(answer), at=timezone.now())
    messages.error(request, refusal())
    return redirect("salon:sign_in")


@allow(DESK, by_pin=False)
@never_cache
@require_POST
def creation(request: SalonRequest) -> HttpResponse:
    """Begin to make a passkey."""
    staff = access.staff_or_404(request, request.user.pk)
    return JsonResponse(ceremony.begin_making(request, staff, at=timezone.now()))


@allow(DESK, by_pin=False)
@require_POST
@sensitive_post_parameters("password", "code", "passkey")
def begin(request: SalonRequest) -> HttpResponse:
    """Ask for both factors before another passkey is added."""
    form = ProofForm(request.POST, auto_id="passkey_%s")
    if not second_factor.is_proven(request, form):
        return second_factor.manage_page(request, passkey_proof=form)
    request.session[PROVEN] = timezone.now().timestamp() + LONGEST
    return redirect("salon:add_passkey")


@allow(DESK, by_pin=False)
@require_http_methods(["GET", "POST"])
@sensitive_post_parameters("password", "passkey")
def add(request: SalonRequest) -> HttpResponse:
    """Add a passkey: after both factors where there are two, else after the password."""
    now = timezone.now()
    has_two = selectors.has_second_factor(staff=request.user)
    is_proven = request.session.get(PROVEN, 0) > now.timestamp()
    if has_two and not is_proven:
        return redirect("salon:second_factor")
    form = AddForm(
        request.POST if request.method == "POST" else None, is_proven=has_two and is_proven
    )
    if request.method == "POST" and form.is_valid():
        made = _added(request, form)
        if made is not None:
            back = return_path.requested(request)
            if made:
                return second_factor.codes_page(request, made, back)
            messages.success(request, _("The passkey is added."))
            return redirect("salon:second_factor")
    context = {
        "form": form,
        "works_here": ceremony.works_here(request),
        "site": settings.SITE_URL,
        "is_owed": selectors.owes_second_factor(staff=request.user),
        "next": return_path.requested(request),
    }
    status = 422 if form.errors else 200
    return render(request, "salon/passkey_add.html", context, status=status)


@allow(DESK, by_pin=False)
@require_POST
def rename(request: SalonRequest, pk: int) -> HttpResponse:
    """Call a passkey otherwise."""
    form = NameForm(request.POST, instance=_own_or_404(request, pk))
    if not form.is_valid():
        messages.error(request, _("Enter a name."))
        return redirect("salon:second_factor")
    services.rename_passkey(
        pk=pk, name=form.cleaned_data["name"], by=request.user, at=timezone.now()
    )
    messages.success(request, _("Saved."))
    return redirect("salon:second_factor")


@allow(DESK, by_pin=False)
@require_POST
@sensitive_post_parameters("password")
def remove(request: SalonRequest, pk: int) -> HttpResponse:
    """Remove a passkey; the password is asked for."""
    _own_or_404(request, pk)
    form = PasswordForm(request.POST)
    password = form.cleaned_data["password"] if form.is_valid() else ""
    if not proof.is_password(request, request.user, password):
        messages.error(request, _("This is not the password of the person signed in."))
        return redirect("salon:second_factor")
    try:
        services.remove_passkey(pk=pk, by=request.user, at=timezone.now())
        messages.success(request, _("The passkey is removed."))
    except services.PasskeyRefused as reason:
        messages.error(request, str(reason))
    sitting.note(request, has_passkey=selectors.has_passkey(staff=request.user))
    return redirect("salon:second_factor")


def refusal() -> str:
    """Say that a passkey was not taken: the same words whatever the reason."""
    return _("This passkey was not accepted. Try again, or use your password.")


def _added(request: SalonRequest, form: AddForm) -> tuple[str, ...] | None:
    """Return the recovery codes that come of it, maybe none; None where it is refused."""
    now = timezone.now()
    staff = access.staff_or_404(request, request.user.pk)
    password = form.cleaned_data.get("password")
    if "password" in form.fields and not proof.is_password(request, staff, password or ""):
        form.add_error("password", _("This is not the password of the person signed in."))
        return None
    made = ceremony.finish_making(request, staff, form.cleaned_data["passkey"], at=now)
    if made is None:
        form.add_error(None, _("No passkey was made. Try again."))
        return None
    try:
        codes = services.add_passkey(
            name=form.cleaned_data["name"], registered=made, by=staff, at=now
        )
    except services.PasskeyRefused as reason:
        form.add_error(None, str(reason))
        return None
    request.session.pop(PROVEN, None)
    request.session.cycle_key()  # the service has ended the session, too
    login(request, staff, backend=settings.AUTHENTICATION_BACKENDS[-1])
    return codes


def _own_or_404(request: SalonRequest, pk: int) -> Passkey:
    found = selectors.passkeys_of(staff=request.user).filter(pk=pk).first()
    if found is None:
        raise Http404(_("This passkey is not there."))
    return found
