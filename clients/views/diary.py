"""The diary: the day, booking, moving, cancelling."""

import datetime as dt

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_date, parse_time
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods
from django.views.decorators.vary import vary_on_headers

from clients import access, selectors, services
from clients.diary_grid import day_grid
from clients.forms import BookingForm, CancelForm, MoveForm, OverrideForm
from clients.services.gatekeeping import gate_of
from salon.access import DESK, SalonRequest, allow
from salon.models import Role
from salon.selectors import columns
from salon.submissions import once


def _day(request: SalonRequest, text: str | None) -> dt.date:
    if text is None:
        return selectors.today(salon=request.salon, at=timezone.now())
    try:
        day = parse_date(text)
    except ValueError:
        day = None
    if day is None or not 2000 <= day.year <= 2100:
        raise Http404(_("This is no day."))
    return day


@allow(DESK)
@require_GET
@vary_on_headers("HX-Request")
def day(request: SalonRequest, day: str | None = None) -> HttpResponse:
    """Show a day: a column per stylist, each appointment with its patch-test state."""
    shown = _day(request, day)
    now = timezone.now()
    appointments = selectors.day_appointments(salon=request.salon, day=shown)
    context = {
        "day": shown,
        "is_today": shown == selectors.today(salon=request.salon, at=now),
        "before": shown - dt.timedelta(days=1),
        "after": shown + dt.timedelta(days=1),
        "grid": day_grid(
            salon=request.salon,
            day=shown,
            stylists=list(columns(salon=request.salon)),
            appointments=appointments,
            states=selectors.states_of(appointments, at=now),
            now=now,
        ),
        "count": len(appointments),
    }
    template = "clients/_day.html" if request.htmx else "clients/day.html"
    return render(request, template, context)


@allow(DESK)
@once
@require_http_methods(["GET", "POST"])
def book(request: SalonRequest) -> HttpResponse:
    """Book a client; without one, find the client first and keep the time."""
    now = timezone.now()
    given = request.POST or request.GET
    client_id = given.get("client", "")
    if not client_id.isdigit():
        return render(
            request,
            "clients/book_whom.html",
            {
                "book": request.GET.urlencode(),
                "clients": selectors.find_clients(salon=request.salon, text=""),
            },
        )
    client = access.client_or_404(request, int(client_id))
    form = BookingForm(
        request.POST or None, salon=request.salon, initial=_initial(request, client)
    )
    if request.method == "POST" and form.is_valid():
        chosen = form.cleaned_data
        try:
            booked = services.book_appointment(
                client=client,
                service=chosen["service"],
                stylist=chosen["stylist"],
                starts_at=chosen["starts_at"],
                line=chosen["line"],
                chair=chosen["chair"],
                note=chosen["note"],
                by=request.user,
                at=now,
            )
            messages.success(request, _("Booked."))
            return redirect("clients:appointment", booked.pk)
        except services.BookingRefused as refusal:
            form.add_error("time", str(refusal))
    status = 422 if form.errors else 200
    context = {
        "client": client,
        "form": form,
        "states": selectors.client_states(client=client, at=now),
        "alerts": selectors.alerts_in_force(client=client),
    }
    return render(request, "clients/book.html", context, status=status)


def _initial(request: SalonRequest, client: object) -> dict[str, object]:
    now = timezone.localtime(timezone.now(), request.salon.zone)
    try:
        day = parse_date(request.GET.get("day", "")) or now.date()
        time = parse_time(request.GET.get("time", ""))
    except ValueError:
        day, time = now.date(), None
    stylist = request.GET.get("stylist", "")
    return {
        "day": day,
        "time": time,
        "stylist": int(stylist)
        if stylist.isdigit()
        else getattr(client, "preferred_stylist_id", None),
        "service": selectors.services_offered(salon=request.salon)
        .order_by("-is_colour", "name")
        .first(),
        "line": selectors.lines_in_use(salon=request.salon).first(),
    }


@allow(DESK)
@require_GET
def appointment(request: SalonRequest, pk: int) -> HttpResponse:
    """Show one appointment, whether the client may be checked in, and if not, why."""
    one = access.appointment_or_404(request, pk)
    return render(request, "clients/appointment.html", appointment_context(request, one))


def appointment_context(request: SalonRequest, one) -> dict[str, object]:
    """Return what the page of an appointment shows."""
    now = timezone.now()
    local = timezone.localtime(one.starts_at, request.salon.zone)
    gate = gate_of(one, at=now)
    return {
        "appointment": one,
        "gate": gate,
        "alerts": selectors.alerts_in_force(client=one.client),
        "events": one.events.select_related("recorded_by", "stylist"),
        "move_form": MoveForm(
            salon=request.salon,
            initial={"stylist": one.stylist_id, "day": local.date(), "time": local.time()},
        ),
        "cancel_form": CancelForm(),
        "override_form": OverrideForm(),
        "may_override": bool(
            request.user.role == Role.OWNER and gate and gate.may_be_overridden
        ),
        "too_soon": bool(
            gate
            and not gate.is_open
            and gate.next_possible_at
            and gate.next_possible_at > one.starts_at
        ),
    }


@allow(DESK)
@once
@require_http_methods(["POST"])
def move(request: SalonRequest, pk: int) -> HttpResponse:
    """Move an appointment."""
    one = access.appointment_or_404(request, pk)
    form = MoveForm(request.POST, salon=request.salon)
    if form.is_valid():
        try:
            services.move_appointment(
                appointment=access.appointment_or_404(request, pk),
                starts_at=form.cleaned_data["starts_at"],
                stylist=form.cleaned_data["stylist"],
                by=request.user,
                at=timezone.now(),
            )
            messages.success(request, _("Moved."))
            return redirect("clients:appointment", pk)
        except services.BookingRefused as refusal:
            form.add_error("time", str(refusal))
    context = {**appointment_context(request, one), "move_form": form}
    return render(request, "clients/appointment.html", context, status=422)


@allow(DESK)
@once
@require_http_methods(["POST"])
def cancel(request: SalonRequest, pk: int) -> HttpResponse:
    """Cancel an appointment, with its reason."""
    one = access.appointment_or_404(request, pk)
    form = CancelForm(request.POST)
    if form.is_valid():
        try:
            services.cancel_appointment(
                appointment=one, by=request.user, at=timezone.now(), **form.cleaned_data
            )
            messages.success(request, _("The time is free again."))
            local = timezone.localtime(one.starts_at, request.salon.zone)
            return redirect("clients:day_of", local.date().isoformat())
        except services.BookingRefused as refusal:
            form.add_error(None, str(refusal))
    context = {**appointment_context(request, one), "cancel_form": form}
    return render(request, "clients/appointment.html", context, status=422)
