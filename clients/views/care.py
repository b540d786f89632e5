"""Consents, hair history and household of a client."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients import access, selectors, services
from clients.forms import ConsentForm, HairHistoryForm, LiftForm
from clients.models import AccessKind, ConsentKind
from clients.selectors.health_consent import health_consent
from salon.access import DESK, SalonRequest, allow
from salon.attempts import attempt, press
from salon.numbers import row_number
from salon.submissions import once


@allow(DESK, shows=AccessKind.HEALTH)
@require_GET
def care(request: SalonRequest, pk: int) -> HttpResponse:
    """Show consents, hair history and household on a page of their own."""
    return render(request, "clients/care.html", _context(request, pk))


def _context(request: SalonRequest, pk: int, **forms: object) -> dict[str, object]:
    client = access.client_or_404(request, pk)
    now = timezone.now()
    everything = request.GET.get("all") == "1"
    agreed = health_consent(client=client, at=now)
    return {
        "client": client,
        "alerts": selectors.alerts_in_force(client=client, viewer=request.user),
        "consents": selectors.consent_lines(client=client, by_guardian=agreed.is_minor),
        "consent_form": ConsentForm(is_minor=agreed.is_minor, auto_id=False),
        "spoken": client.speaks(request.salon),
        "history": selectors.hair_history(client=client, at=now, everything=everything),
        "everything": everything,
        "years": selectors.desk_policy(salon=request.salon).history_years,
        "household": selectors.household_of(client),
        "photos_left": selectors.photos_left(client=client),
        "history_form": HairHistoryForm(today=selectors.today(salon=request.salon, at=now)),
        **forms,
    }


@allow(DESK)
@once
@require_POST
def consent(request: SalonRequest, pk: int) -> HttpResponse:
    """Record a consent as given or withdrawn."""
    client = access.client_or_404(request, pk)
    now = timezone.now()
    is_minor = health_consent(client=client, at=now).is_minor
    form = ConsentForm(request.POST, is_minor=is_minor, auto_id=False)
    if not form.is_valid():
        context = _context(request, pk, consent_form=form)
        return render(request, "clients/care.html", context, status=422)
    services.record_consent(
        client=client,
        wording=form.wording(client),
        by=request.user,
        at=now,
        **form.cleaned_data,
    )
    messages.success(request, _outcome(form.cleaned_data))
    return redirect("clients:care", pk)


def _outcome(saved: dict[str, Any]) -> str:
    """Say what follows from a consent or from its end."""
    if saved["is_given"] or saved["kind"] != ConsentKind.HEALTH_RECORD:
        return _("Consent saved.")
    return _(
        "Withdrawn. From now on no tests or answers are kept, and colour is not possible."
        " Only an owner can see what has to be kept."
    )


@allow(DESK)
@once
@require_POST
def add_history(request: SalonRequest, pk: int) -> HttpResponse:
    """Record something that was done to the hair."""
    client = access.client_or_404(request, pk)
    now = timezone.now()
    form = HairHistoryForm(request.POST, today=selectors.today(salon=request.salon, at=now))
    if form.is_valid():
        services.add_hair_history(client=client, by=request.user, at=now, **form.cleaned_data)
        return redirect("clients:care", pk)
    context = _context(request, pk, history_form=form)
    return render(request, "clients/care.html", context, status=422)


@allow(DESK, shows=AccessKind.HEALTH)
@once
@require_http_methods(["GET", "POST"])
def withdraw_history(request: SalonRequest, pk: int) -> HttpResponse:
    """Withdraw an entry that was wrong; both rows stay."""
    entry = access.hair_history_or_404(request, pk)
    form = LiftForm(request.POST if request.method == "POST" else None)
    tried = attempt(
        request,
        form,
        lambda data: services.withdraw_hair_history(
            entry=entry, note=data["text"], by=request.user, at=timezone.now()
        ),
    )
    if tried.saved:
        return redirect("clients:care", entry.client_id)
    context = {"entry": entry, "form": form}
    return render(request, "clients/withdraw_history.html", context, status=tried.status)


@allow(DESK)
@require_POST
def join(request: SalonRequest, pk: int) -> HttpResponse:
    """Put two clients into one household."""
    client = access.client_or_404(request, pk)
    other = access.client_or_404(request, row_number(request.POST.get("other", "")) or 0)
    press(
        request,
        lambda: services.join_household(
            client=client, other=other, by=request.user, at=timezone.now()
        ),
    )
    return redirect("clients:care", pk)


@allow(DESK)
@require_POST
def leave(request: SalonRequest, pk: int) -> HttpResponse:
    """Take a client out of the household."""
    client = access.client_or_404(request, pk)
    services.leave_household(client=client, by=request.user, at=timezone.now())
    return redirect("clients:care", pk)
