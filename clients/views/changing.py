"""Changing an appointment without moving it: what is booked, marks, undo of a cancellation."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from clients import access, services
from clients.forms import ChangeForm, MarkForm, RestoreForm
from clients.views.appointments import appointment_context
from salon.access import DESK, SalonRequest, allow
from salon.attempts import attempt, press
from salon.submissions import once


@allow(DESK)
@once
@require_POST
def change(request: SalonRequest, pk: int) -> HttpResponse:
    """Change what is booked; a refusal comes back with the form as it was typed."""
    appointment = access.appointment_or_404(request, pk)
    form = ChangeForm(request.POST, appointment=appointment)

    def change_it(data: dict[str, Any]) -> None:
        chosen = dict(data)
        services.change_appointment(
            appointment=appointment,
            expected_version=chosen.pop("version"),
            by=request.user,
            at=timezone.now(),
            **chosen,
        )

    tried = attempt(request, form, change_it)
    if tried.saved:
        messages.success(request, _("Changed."))
        return redirect("clients:appointment", pk)
    form.offers_together = isinstance(tried.refusal, services.ClientElsewhere)
    appointment = access.appointment_or_404(request, pk)
    context = {**appointment_context(request, appointment), "change_form": form}
    return render(request, "clients/appointment.html", context, status=tried.status)


@allow(DESK)
@once
@require_POST
def restore(request: SalonRequest, pk: int) -> HttpResponse:
    """Undo a cancellation while the time is free."""
    appointment = access.appointment_or_404(request, pk)
    form = RestoreForm(request.POST)
    together = form.is_valid() and form.cleaned_data["is_together"]
    tried = press(
        request,
        lambda: services.restore_appointment(
            appointment=appointment, is_together=together, by=request.user, at=timezone.now()
        ),
        quiet=True,
    )
    if tried.saved:
        messages.success(request, _("Booked again."))
        return redirect("clients:appointment", pk)
    context = {
        **appointment_context(request, access.appointment_or_404(request, pk)),
        "restore_refused": str(tried.refusal),
        "restore_together": isinstance(tried.refusal, services.ClientElsewhere),
    }
    return render(request, "clients/appointment.html", context, status=tried.status)


@allow(DESK)
@require_POST
def mark(request: SalonRequest, pk: int) -> HttpResponse:
    """Mark an appointment as confirmed, late or arrived, or remove the mark."""
    appointment = access.appointment_or_404(request, pk)
    form = MarkForm(request.POST)
    if form.is_valid():
        press(
            request,
            lambda: services.mark_appointment(
                appointment=appointment, by=request.user, at=timezone.now(), **form.cleaned_data
            ),
        )
    else:
        messages.error(request, _("This mark does not exist."))
    return redirect("clients:appointment", pk)
