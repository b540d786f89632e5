"""The call list of the day."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from clients import selectors, services
from clients.forms import KeyedCallForm
from clients.models import CallOutcome, EventKind
from salon.access import DESK, SalonRequest, allow
from salon.attempts import press


@allow(DESK)
@require_GET
def calls(request: SalonRequest) -> HttpResponse:
    """Show whom to phone today."""
    lines = selectors.call_list(salon=request.salon, at=timezone.now())
    context = {"lines": lines, "open": sum(not line.is_done for line in lines)}
    return render(request, "clients/calls.html", context)


@allow(DESK)
@require_POST
def record(request: SalonRequest) -> HttpResponse:
    """Keep what came of one call; "confirmed" marks the appointment too."""
    now = timezone.now()
    form = KeyedCallForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Choose the result of the call."))
        return redirect("clients:calls")
    key, outcome = form.cleaned_data["key"], form.cleaned_data["outcome"]
    lines = selectors.call_list(salon=request.salon, at=now)
    line = next((candidate for candidate in lines if candidate.occasion.key == key), None)
    if line is None:
        raise Http404(_("This page does not exist, or it belongs to another salon."))
    services.record_call(
        client=line.client,
        appointment=line.appointment,
        key=key,
        reason=line.reason,
        outcome=CallOutcome.REACHED if outcome == "confirmed" else outcome,
        by=request.user,
        at=now,
    )
    appointment = line.appointment
    if outcome == "confirmed" and appointment is not None:
        press(
            request,
            lambda: services.mark_appointment(
                appointment=appointment, kind=EventKind.CONFIRMED, by=request.user, at=now
            ),
        )
    return redirect("clients:calls")
