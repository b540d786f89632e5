"""The client's side of the tablet; see `consult.screens.client_view`."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from consult import access, selectors
from consult.forms import LeaveForm
from consult.models import Visit
from consult.screens import client_view, drafts
from consult.views.agreement import Shown, choosing, signing
from consult.views.doors import at_step, due_page, facts_for, posted_version, stale_in
from consult.visit.path import Step
from salon import languages
from salon.access import BENCH, SalonRequest, allow
from salon.selectors import has_pin
from salon.submissions import once
from salon.tablet.proof import needs_code, pin_device, prove, takes_pin


@allow(BENCH)
@require_POST
@at_step(Step.CHOICE)
def hand_over(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Hand the tablet to the client: nothing but this choice opens from now on."""
    client_view.enter(request, visit.pk, language=visit.client.speaks(request.salon))
    to_sign = request.POST.get("to") == "sign" and facts_for(request, visit).is_open(Step.SIGN)
    return redirect("consult:client_sign" if to_sign else "consult:client_choice", visit.pk)


@allow(BENCH)
@once
@require_http_methods(["GET", "POST"])
def choice(request: SalonRequest, pk: int) -> HttpResponse:
    """Let the client move along the trade-off and take a place."""
    visit = access.visit_or_404(request, pk)
    if not _may_show(request, visit, Step.CHOICE):
        return _away(request, visit)
    kept = _kept(request, visit)
    shown = choosing(request, visit, kept)
    if shown.tried.saved:
        return redirect("consult:client_sign", pk)
    shown.context["keeps_place"] = True
    return _draw(request, visit, "consult/client_choice.html", shown)


@allow(BENCH)
@once
@require_http_methods(["GET", "POST"])
def sign(request: SalonRequest, pk: int) -> HttpResponse:
    """Let the client read what the place means, and sign."""
    visit = access.visit_or_404(request, pk)
    choice = selectors.choice_in_force(visit)
    if choice is None or not _may_show(request, visit, Step.SIGN):
        return _away(request, visit)
    if selectors.sign_off_of(choice):
        return redirect("consult:client_done", pk)
    shown = signing(request, visit, choice, at=timezone.now())
    if shown.tried.saved:
        return redirect("consult:client_done", pk)
    return _draw(request, visit, "consult/client_sign.html", shown)


@allow(BENCH)
@require_GET
def done(request: SalonRequest, pk: int) -> HttpResponse:
    """Thank the client, and wait for the stylist."""
    visit = access.visit_or_404(request, pk)
    if client_view.visit_shown(request) != visit.pk:
        return redirect("consult:visit", pk)
    return _done(request, visit, _leave_form(request), 200)


@allow(BENCH)
@require_POST
def leave(request: SalonRequest, pk: int) -> HttpResponse:
    """Take the tablet back with the PIN or password of whoever is signed in.

    A PIN that was switched off by wrong tries stays off until its owner gives the password.
    """
    visit = access.visit_or_404(request, pk)
    form = _leave_form(request)
    if form.is_valid() and prove(request, form, at=timezone.now()):
        client_view.leave(request)
        with languages.speaking(languages.of_reader(request)):
            messages.success(request, _yours_again(request))
        return redirect(f"consult:{due_page(facts_for(request, visit))}", pk)
    return _done(request, visit, form, 422)


def _yours_again(request: SalonRequest) -> str:
    if has_pin(staff=request.user):
        return _("The tablet is yours again.")
    return _("The tablet is yours again. With a PIN of your own, six digits do next time.")


def _kept(request: SalonRequest, visit: Visit) -> dict[str, str]:
    """Return the client's own fields, not taken yet; at first those that the stylist left."""
    how: dict[str, Any] = {"by": request.user, "at": timezone.now()}
    own = drafts.kept_fields(visit, step=client_view.PLACE, **how)
    return own or drafts.kept_fields(visit, step=Step.CHOICE, **how)


def _leave_form(request: SalonRequest) -> LeaveForm:
    can_pin = takes_pin(request) and has_pin(staff=request.user)
    posted = request.POST if request.method == "POST" else None
    return LeaveForm(posted, can_pin=can_pin, needs_code=needs_code(request))


def _done(request: SalonRequest, visit: Visit, form: LeaveForm, status: int) -> HttpResponse:
    """Draw the thanks; on a tablet that is not enrolled the form is behind a long press."""
    is_held = pin_device(request) is None and request.method == "GET"
    context = {"visit": visit, "form": form, "is_held": is_held}
    return render(request, "consult/client_done.html", context, status=status)


def _may_show(request: SalonRequest, visit: Visit, step: Step) -> bool:
    return (
        client_view.visit_shown(request) == visit.pk
        and not visit.has_ended
        and facts_for(request, visit).is_open(step)
    )


def _away(request: SalonRequest, visit: Visit) -> HttpResponse:
    """Lead to where the client may be, or out where the tablet was never handed over."""
    if client_view.visit_shown(request) == visit.pk:
        return redirect("consult:client_done", visit.pk)
    return redirect("consult:visit", visit.pk)


def _draw(request: SalonRequest, visit: Visit, template: str, shown: Shown) -> HttpResponse:
    tried = shown.tried
    kept = request.method == "POST" and not stale_in(tried)
    frame: dict[str, Any] = {
        "visit": visit,
        "version": posted_version(request) if kept else visit.version,
        "is_stale": bool(stale_in(tried)),
    }
    return render(request, template, {**frame, **shown.context}, status=tried.status)
