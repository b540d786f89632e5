"""Check-in, and the owner's override."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from clients import access, services
from clients.forms import OverrideForm
from clients.views.diary import appointment_context
from salon.access import DESK, OWNER, SalonRequest, allow
from salon.submissions import once


@allow(DESK)
@require_POST
def check_in(request: SalonRequest, pk: int) -> HttpResponse:
    """Check a client in; a shut gate answers 409 with its reasons."""
    one = access.appointment_or_404(request, pk)
    try:
        services.check_in(appointment=one, by=request.user, at=timezone.now())
    except services.CheckInRefused as refusal:
        context = {**appointment_context(request, one), "refusal": str(refusal)}
        return render(request, "clients/appointment.html", context, status=409)
    messages.success(request, _("%(name)s is checked in.") % {"name": one.client.called})
    return redirect("clients:appointment", pk)


@allow(OWNER)
@once
@require_POST
def override(request: SalonRequest, pk: int) -> HttpResponse:
    """Open the gate of one appointment in writing."""
    one = access.appointment_or_404(request, pk)
    form = OverrideForm(request.POST)
    if form.is_valid():
        try:
            services.record_override(
                appointment=one, by=request.user, at=timezone.now(), **form.cleaned_data
            )
            messages.success(request, _("The override is on record."))
            return redirect("clients:appointment", pk)
        except services.OverrideRefused as refusal:
            form.add_error(None, str(refusal))
    context = {**appointment_context(request, one), "override_form": form}
    return render(request, "clients/appointment.html", context, status=422)
