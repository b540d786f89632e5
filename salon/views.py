"""One's own account, and the owner's pages about the salon itself."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from salon import access, accounts, registry, selectors, services
from salon.access import DESK, OWNER, SalonRequest, allow
from salon.attempts import attempt
from salon.forms import (
    LanguageForm,
    MemberForm,
    NewMemberForm,
    OwnPasswordForm,
    PolicyForm,
    SalonForm,
)
from salon.keyset import slice_of
from salon.replica import reads_replica
from salon.submissions import once
from salon.tablet import proof, return_path


@allow(DESK)
@require_GET
def home(request: SalonRequest) -> HttpResponse:
    """Lead everyone to the page that their day starts with."""
    return redirect(registry.home_of(request.user.role))


@allow(OWNER, by_pin=True)
@require_GET
def house(request: SalonRequest) -> HttpResponse:
    """Show who works here and which rules are in force."""
    return render(
        request,
        "salon/house.html",
        {
            "team": selectors.team(salon=request.salon),
            "policy": selectors.policy_in_force(salon=request.salon),
            "salon_pages": registry.salon_pages(),
            "leaving_page": registry.leaving_page(),
        },
    )


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def add_member(request: SalonRequest) -> HttpResponse:
    """Add someone to the team."""
    form = NewMemberForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        services.add_member(
            by=request.user, at=timezone.now(), is_one_time=True, **form.cleaned_data
        )
        return redirect("salon:house")
    return _form_page(request, form, _("Add someone"))


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def change_member(request: SalonRequest, pk: int) -> HttpResponse:
    """Change someone's role, column or right to sign in."""
    member = access.staff_or_404(request, pk)
    was_active = member.is_active
    form = MemberForm(request.POST or None, instance=member)
    tried = attempt(
        request,
        form,
        lambda data: services.change_member(
            member=access.staff_or_404(request, pk),
            by=request.user,
            at=timezone.now(),
            **data,
        ),
    )
    if tried.result is not None:
        if was_active and not tried.result.is_active:
            messages.info(request, _("Hand over what is still booked, row by row."))
            return redirect(registry.leaving_page(), pk)
        return redirect("salon:house")
    has_pin = selectors.has_pin(staff=member)
    context = {
        "pin_holder": access.staff_or_404(request, pk) if has_pin else None,
        "colleague": access.staff_or_404(request, pk) if member != request.user else None,
        "has_second_factor": selectors.has_second_factor(staff=member),
    }
    return _form_page(request, form, _("Change a member of the team"), context)


@allow(OWNER)
@require_POST
def reset_password(request: SalonRequest, pk: int) -> HttpResponse:
    """Give a member a one-time password, and show it this once."""
    member = access.staff_or_404(request, pk)
    try:
        password = services.reset_password(member=member, by=request.user, at=timezone.now())
    except services.PasswordRefused as refusal:
        messages.warning(request, str(refusal))
        return redirect("salon:account")
    context = {"member": member, "password": password}
    return render(request, "salon/one_time_password.html", context)


@allow(DESK)
@require_http_methods(["GET", "POST"])
@sensitive_post_parameters()
def account(request: SalonRequest) -> HttpResponse:
    """Change one's own password, and see where one is signed in."""
    staff = access.staff_or_404(request, request.user.pk)
    form = OwnPasswordForm(staff, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        if not proof.is_password(request, request.user, form.cleaned_data["current"]):
            form.add_error("current", _("This is not the password of the person signed in."))
        else:
            try:
                services.change_password(
                    password=form.cleaned_data["new_password1"], by=staff, at=timezone.now()
                )
                login(request, staff, backend=settings.AUTHENTICATION_BACKENDS[-1])
                messages.success(request, _("Your password is changed."))
                return redirect(return_path.requested(request))
            except services.PasswordRefused as refusal:
                form.add_error("new_password1", str(refusal))
    context = {
        "form": form,
        "sessions": accounts.open_sessions(request, request.user),
        "has_second_factor": selectors.has_second_factor(staff=request.user),
        "next": return_path.requested(request),
    }
    status = 422 if form.errors else 200
    return render(request, "salon/account.html", context, status=status)


@allow(DESK)
@require_POST
def end_session(request: SalonRequest) -> HttpResponse:
    """Sign oneself out somewhere else."""
    now, wanted = timezone.now(), request.POST.get("session", "")
    for row in selectors.sessions_of(staff=request.user, at=now):
        if accounts.mark_of(row.session_key) == wanted:
            services.end_session(session_key=row.session_key, by=request.user, at=now)
            messages.success(request, _("Signed out there."))
            return redirect("salon:account")
    messages.info(request, _("This session has already ended."))
    return redirect("salon:account")


@login_not_required
@require_POST
def language(request: HttpRequest) -> HttpResponse:
    """Speak another language: on this device, and wherever the reader signs in."""
    form = LanguageForm(request.POST)
    if not form.is_valid():
        return HttpResponseBadRequest()
    chosen = form.cleaned_data["language"]
    if request.user.is_authenticated:
        services.choose_language(language=chosen, by=request.user, at=timezone.now())
    response = redirect(_way_back(request))
    response.set_cookie(
        settings.LANGUAGE_COOKIE_NAME,
        chosen,
        max_age=settings.LANGUAGE_COOKIE_AGE,
        httponly=True,
        samesite="Lax",
        secure=not settings.LOCAL,
    )
    return response


def _way_back(request: HttpRequest) -> str:
    """Return the page that was left, where it is one of this site."""
    next_url = request.POST.get("next", "")
    safe = url_has_allowed_host_and_scheme(
        next_url, {request.get_host()}, require_https=request.is_secure()
    )
    # A word without a slash would be looked for among the names of pages.
    return next_url if safe and next_url.startswith("/") else reverse("salon:home")


@allow(OWNER)
@require_POST
def client_language(request: SalonRequest) -> HttpResponse:
    """Choose the language of what clients get."""
    form = LanguageForm(request.POST)
    if not form.is_valid():
        return HttpResponseBadRequest()
    services.speak_to_clients(by=request.user, at=timezone.now(), **form.cleaned_data)
    messages.success(request, _("Saved."))
    return redirect("salon:house")


@allow(OWNER)
@once
@require_http_methods(["GET", "POST"])
def policy(request: SalonRequest) -> HttpResponse:
    """Put another policy in force; show the earlier ones."""
    current = selectors.policy_in_force(salon=request.salon)
    form = PolicyForm(request.POST or None, initial=PolicyForm(instance=current).initial)
    if request.method == "POST" and form.is_valid():
        services.revise_policy(by=request.user, at=timezone.now(), **form.cleaned_data)
        return redirect("salon:house")
    history = selectors.policy_history(salon=request.salon)
    status = 422 if form.errors else 200
    return render(
        request, "salon/policy.html", {"form": form, "history": history}, status=status
    )


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def details(request: SalonRequest) -> HttpResponse:
    """Change the salon's name, phone, address, time zone and currency."""
    form = SalonForm(request.POST or None, instance=selectors.fresh(request.salon))
    tried = attempt(
        request,
        form,
        lambda data: services.change_salon(by=request.user, at=timezone.now(), **data),
    )
    if tried.saved:
        messages.success(request, _("Saved. Slips, cards and reminders use it from now on."))
        return redirect("salon:home" if request.POST.get("lead") else "salon:house")
    context = {"form": form, "leads": not request.salon.phone}
    return render(request, "salon/details.html", context, status=tried.status)


@allow(OWNER, by_pin=True)
@require_GET
@reads_replica
def record_of_changes(request: SalonRequest) -> HttpResponse:
    """Show who changed what, page by page."""
    events = selectors.record_of_changes(salon=request.salon)
    page = slice_of(events, request.GET, by="at", size=50)
    return render(request, "salon/record_of_changes.html", {"page": page})


def _form_page(
    request: SalonRequest, form: MemberForm, title: str, more: dict[str, Any] | None = None
) -> HttpResponse:
    status = 422 if form.errors else 200
    context = {"form": form, "title": title, **(more or {})}
    return render(request, "salon/member.html", context, status=status)


def locked_out(
    request: HttpRequest, credentials: dict[str, Any], *args: object
) -> HttpResponse:
    """Answer a sign-in that failed too often."""
    return render(request, "salon/locked_out.html", status=429)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form whose page is too old, without losing the way back."""
    return render(request, "salon/form_expired.html", status=403)
