"""One appointment: what it is, where it moves, how it ends."""

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from clients import access, selectors, services
from clients.diary import changes
from clients.forms import CancelForm, ChangeForm, MoveForm, OverrideForm, UndoForm
from clients.models import AccessKind, Appointment, Status
from clients.services.gatekeeping import gate_of
from clients.skin_test import offer
from clients.views.back import back_to
from clients.views.days import day_context
from salon.access import DESK, SalonRequest, allow
from salon.attempts import attempt, press
from salon.models import Role
from salon.submissions import once


@allow(DESK, shows=AccessKind.CLIENT)
@require_GET
def appointment(request: SalonRequest, pk: int) -> HttpResponse:
    """Show one appointment, whether the client may be checked in, and if not, why."""
    appointment = access.appointment_or_404(request, pk)
    return render(
        request, "clients/appointment.html", appointment_context(request, appointment)
    )


def appointment_context(request: SalonRequest, appointment: Appointment) -> dict[str, object]:
    """Return what the page of an appointment shows."""
    now = timezone.now()
    local = timezone.localtime(appointment.starts_at, request.salon.zone)
    gate = gate_of(appointment, at=now)
    shut = gate is not None and not gate.is_open and appointment.status == Status.BOOKED
    return {
        "appointment": appointment,
        "gate": gate,
        "alerts": selectors.alerts_in_force(client=appointment.client, viewer=request.user),
        "events": [
            (event, changes.sentences(event))
            for event in appointment.events.select_related("recorded_by", "stylist")
        ],
        "change_form": ChangeForm(appointment=appointment),
        "marks": [
            (kind.value, kind.label, getattr(appointment, name))
            for kind, name in services.MARKS.items()
        ],
        "move_form": MoveForm(
            salon=request.salon,
            auto_id="id_move_%s",
            initial={
                "stylist": appointment.stylist_id,
                "day": local.date(),
                "time": local.time(),
                "version": appointment.version,
            },
        ),
        "cancel_form": CancelForm(),
        "no_shows": selectors.no_shows(client=appointment.client),
        "undo_form": UndoForm(),
        "override_form": OverrideForm(),
        "may_override": bool(
            request.user.role == Role.OWNER and gate and gate.may_be_overridden
        ),
        "offer": offer.offer_for(appointment, at=now) if shut and gate else None,
        "coming": selectors.upcoming(client=appointment.client, at=now)
        if appointment.status == Status.DONE
        else [],
    }


@allow(DESK)
@once
@require_POST
def confirm(request: SalonRequest, pk: int) -> HttpResponse:
    """Record that the client agreed to a time that was held for them."""
    appointment = access.appointment_or_404(request, pk)
    tried = press(
        request,
        lambda: services.confirm_appointment(
            appointment=appointment, by=request.user, at=timezone.now()
        ),
    )
    if tried.saved:
        messages.success(request, _("Agreed with the client."))
    return redirect("clients:appointment", pk)


@allow(DESK)
@once
@require_POST
def move(request: SalonRequest, pk: int) -> HttpResponse:
    """Move an appointment; the diary asks by htmx and gets the day back, with an undo."""
    appointment = access.appointment_or_404(request, pk)
    before = timezone.localtime(appointment.starts_at, request.salon.zone)
    was = {"stylist": appointment.stylist_id, "day": before.date(), "time": before.time()}
    form = MoveForm(request.POST, salon=request.salon, auto_id="id_move_%s")
    back = back_to(request)
    tried = attempt(
        request,
        form,
        lambda data: services.move_appointment(
            appointment=appointment,
            starts_at=data["starts_at"],
            stylist=data["stylist"],
            is_together=data["is_together"],
            expected_version=data["version"],
            by=request.user,
            at=timezone.now(),
        ),
        field="time",
    )
    if tried.saved and (back or not request.htmx):
        messages.success(request, _("Moved."))
        return redirect(back or reverse("clients:appointment", args=[pk]))
    if tried.saved:
        context = day_context(request, form.cleaned_data["day"])
        undo = {"moved": access.appointment_or_404(request, pk), "was": was}
        return render(request, "clients/_moved.html", {**context, **undo})
    form.offers_together = isinstance(tried.refusal, services.ClientElsewhere)
    if back:
        messages.error(request, " ".join(_sentences(form)))
        return redirect(back)
    if request.htmx:
        context = day_context(request, form.cleaned_data.get("day") or before.date())
        context |= {
            "refused": _sentences(form),
            "together": form if form.offers_together else None,
        }
        context |= {"refused_move": appointment}
        return render(request, "clients/_moved.html", context, status=tried.status)
    appointment = access.appointment_or_404(request, pk)
    context = {**appointment_context(request, appointment), "move_form": form}
    return render(request, "clients/appointment.html", context, status=tried.status)


@allow(DESK)
@once
@require_POST
def cancel(request: SalonRequest, pk: int) -> HttpResponse:
    """Cancel an appointment, with its reason."""
    appointment = access.appointment_or_404(request, pk)
    form, back = CancelForm(request.POST), back_to(request)
    tried = attempt(
        request,
        form,
        lambda data: services.cancel_appointment(
            appointment=appointment, by=request.user, at=timezone.now(), **data
        ),
    )
    if tried.saved:
        local = timezone.localtime(appointment.starts_at, request.salon.zone)
        address = reverse("clients:day_of", args=[local.date().isoformat()])
        return redirect(back or f"{address}?cancelled={appointment.pk}")
    if back:
        messages.error(request, " ".join(_sentences(form)))
        return redirect(back)
    context = {**appointment_context(request, appointment), "cancel_form": form}
    return render(request, "clients/appointment.html", context, status=tried.status)


def _sentences(form: forms.Form) -> list[str]:
    """Return a refused form's errors, for a page that shows no form."""
    return [str(error) for errors in form.errors.values() for error in errors]
