"""Placing and reading patch tests, the worklist, and the slip for the client."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from clients import access, selectors, services
from clients.forms import PlaceForm, ReadingForm
from clients.models import AccessKind
from clients.selectors.health_consent import health_consent
from clients.skin_test.state import patch_state
from salon.access import DESK, SalonRequest, allow
from salon.attempts import attempt
from salon.selectors import policy_in_force
from salon.submissions import once
from salon.tablet.witness import with_witness


@allow(DESK, shows=AccessKind.HEALTH)
@with_witness
@once
@require_http_methods(["GET", "POST"])
def place(request: SalonRequest, pk: int) -> HttpResponse:
    """Place a patch test."""
    client = access.client_or_404(request, pk)
    now = timezone.now()
    line = request.GET.get("line", "")
    form = PlaceForm(
        request.POST if request.method == "POST" else None,
        salon=request.salon,
        by=request.user,
        at=now,
        consent=health_consent(client=client, at=now),
        batches=selectors.recent_batches(salon=request.salon, line=line),
        initial={"line": line},
    )
    tried = attempt(
        request,
        form,
        lambda _data: services.place_patch_test(
            client=client, by=request.user, at=now, witness=request.witness, **form.record()
        ),
    )
    if tried.result:
        messages.success(request, _("Patch test saved."))
        return redirect("clients:patch_slip", tried.result.pk)
    context = {
        "client": client,
        "form": form,
        "policy": policy_in_force(salon=request.salon),
        "alerts": selectors.alerts_in_force(client=client, viewer=request.user),
    }
    return render(request, "clients/place_patch_test.html", context, status=tried.status)


@allow(DESK, shows=AccessKind.HEALTH)
@once
@require_http_methods(["GET", "POST"])
def read(request: SalonRequest, pk: int) -> HttpResponse:
    """Read a test, or record a late reaction to one that was clear."""
    test = access.patch_test_or_404(request, pk)
    now = timezone.now()
    form = ReadingForm(request.POST if request.method == "POST" else None)
    tried = attempt(
        request,
        form,
        lambda data: services.record_patch_test_reading(
            test=test, by=request.user, at=now, **data
        ),
    )
    if tried.saved:
        messages.success(request, _("Reading saved."))
        return redirect("clients:detail", test.client_id)
    context = {
        "test": test,
        "form": form,
        "latest": selectors.latest_reading(test=test),
        "state": patch_state(client=test.client, line=test.line, at=now),
    }
    return render(request, "clients/read_patch_test.html", context, status=tried.status)


@allow(DESK, shows=AccessKind.PAPER)
@require_GET
def slip(request: SalonRequest, pk: int) -> HttpResponse:
    """Show the slip that the client takes home, ready to print."""
    test = access.patch_test_or_404(request, pk)
    readable_at = policy_in_force(salon=request.salon).readable_at(test.applied_at)
    context = {
        "test": test,
        "readable_at": readable_at,
        "spoken": test.client.speaks(request.salon),
    }
    return render(request, "clients/patch_slip.html", context)


@allow(DESK)
@require_GET
def worklist(request: SalonRequest) -> HttpResponse:
    """Show who must come in, whose reading is due, whose test runs out."""
    work = selectors.patch_worklist(salon=request.salon, at=timezone.now())
    return render(request, "clients/patch_worklist.html", {"work": work})
