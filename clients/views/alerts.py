"""Alerts that stay visible until someone says why they no longer hold."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from clients import access, services
from clients.forms import AlertForm, LiftForm
from clients.models import AccessKind
from salon.access import DESK, SalonRequest, allow
from salon.attempts import attempt
from salon.submissions import once


@allow(DESK, shows=AccessKind.HEALTH)
@once
@require_POST
def add_alert(request: SalonRequest, pk: int) -> HttpResponse:
    """Put up an alert."""
    client = access.client_or_404(request, pk)
    form = AlertForm(request.POST)
    tried = attempt(
        request,
        form,
        lambda data: services.raise_alert(
            client=client, by=request.user, at=timezone.now(), **data
        ),
    )
    if tried.saved:
        return redirect("clients:detail", client.pk)
    context = {"client": client, "alert_form": form}
    return render(request, "clients/alert.html", context, status=422)


@allow(DESK, shows=AccessKind.HEALTH)
@once
@require_http_methods(["GET", "POST"])
def remove_alert(request: SalonRequest, pk: int) -> HttpResponse:
    """Lift an alert with the reason; both stay on record."""
    alert = access.alert_or_404(request, pk)
    form = LiftForm(request.POST if request.method == "POST" else None)
    tried = attempt(
        request,
        form,
        lambda data: services.remove_alert(
            alert=alert, by=request.user, at=timezone.now(), **data
        ),
    )
    if tried.saved:
        return redirect("clients:detail", alert.client_id)
    context = {"alert": alert, "form": form}
    return render(request, "clients/remove_alert.html", context, status=tried.status)
