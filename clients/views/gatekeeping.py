"""Check-in, the steps after it, and the owner's override."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from clients import access, services
from clients.forms import OverrideForm, UndoForm
from clients.models import Appointment
from clients.views.appointments import appointment_context
from clients.views.days import day_context
from salon.access import DESK, OWNER, SalonRequest, allow
from salon.attempts import attempt, press
from salon.refusals import Refused
from salon.submissions import once


@allow(DESK)
@require_POST
def check_in(request: SalonRequest, pk: int) -> HttpResponse:
    """Check a client in; a shut gate answers 409 with its reasons.

    From the day's page (htmx) the day comes back; a refusal leads to the appointment.
    """
    appointment = access.appointment_or_404(request, pk)
    tried = press(
        request,
        lambda: services.check_in(appointment=appointment, by=request.user, at=timezone.now()),
        quiet=True,
    )
    if tried.refusal and request.htmx:
        return redirect_by_htmx("clients:appointment", pk)
    if tried.refusal:
        return _refused(request, appointment, tried.refusal)
    notice = _("%(name)s is checked in.") % {"name": appointment.client.called}
    if request.htmx:
        day = timezone.localtime(appointment.starts_at, request.salon.zone).date()
        context = {**day_context(request, day), "said": notice}
        return render(request, "clients/_moved.html", context)
    messages.success(request, notice)
    return redirect("clients:appointment", pk)


def _refused(request: SalonRequest, appointment: Appointment, refusal: Refused) -> HttpResponse:
    context = {**appointment_context(request, appointment), "refusal": str(refusal)}
    return render(request, "clients/appointment.html", context, status=409)


def redirect_by_htmx(name: str, pk: int) -> HttpResponse:
    """Tell htmx to open another page."""
    response = HttpResponse(status=204)
    response["HX-Redirect"] = redirect(name, pk).url
    return response


@allow(DESK)
@require_POST
def begin(request: SalonRequest, pk: int) -> HttpResponse:
    """Record that a service without colour has begun; colour begins with its visit."""
    return _step(request, pk, services.start_service)


@allow(DESK)
@require_POST
def finish(request: SalonRequest, pk: int) -> HttpResponse:
    """Record that a service without colour is done."""
    return _step(request, pk, services.finish_service)


def _step(request: SalonRequest, pk: int, service: Callable[..., Appointment]) -> HttpResponse:
    appointment = access.appointment_or_404(request, pk)

    def step() -> None:
        if appointment.line_id is not None:
            raise services.CheckInRefused(
                _("Colour starts and ends with its visit. Open the visit."), code="colour"
            )
        service(appointment=appointment, by=request.user, at=timezone.now())

    tried = press(request, step, quiet=True)
    if tried.refusal:
        return _refused(request, appointment, tried.refusal)
    return redirect("clients:appointment", pk)


@allow(DESK)
@once
@require_POST
def undo_check_in(request: SalonRequest, pk: int) -> HttpResponse:
    """Undo a check-in, with the reason."""
    form, done = UndoForm(request.POST), _("Check-in undone.")
    return _with_reason(request, pk, services.undo_check_in, done=done, undo_form=form)


@allow(OWNER)
@once
@require_POST
def override(request: SalonRequest, pk: int) -> HttpResponse:
    """Open the gate of one appointment in writing."""
    form, done = OverrideForm(request.POST), _("Override saved.")
    return _with_reason(request, pk, services.record_override, done=done, override_form=form)


def _with_reason(
    request: SalonRequest,
    pk: int,
    write: Callable[..., object],
    *,
    done: str,
    **bound: UndoForm | OverrideForm,
) -> HttpResponse:
    """Write an act that needs a reason, or show the form again as it was sent."""
    appointment = access.appointment_or_404(request, pk)
    (form,) = bound.values()
    tried = attempt(
        request,
        form,
        lambda data: write(appointment=appointment, by=request.user, at=timezone.now(), **data),
    )
    if tried.saved:
        messages.success(request, done)
        return redirect("clients:appointment", pk)
    context = {**appointment_context(request, appointment), **bound}
    return render(request, "clients/appointment.html", context, status=422)
