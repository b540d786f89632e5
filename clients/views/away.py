"""A stylist is away, has left, or a day is closed: who is booked, and what became of each."""

import datetime as dt
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from clients import access, selectors, services
from clients.forms import CallForm
from clients.models import AbsenceKind, CancelReason
from clients.views.back import back_to
from clients.views.days import day_or_404
from salon.access import DESK, SalonRequest, allow, staff_or_404
from salon.attempts import press


@allow(DESK)
@require_POST
def mark_away(request: SalonRequest, day: str, pk: int) -> HttpResponse:
    """Close a stylist's column for a day; whoever is booked is listed, never a refusal."""
    stylist, date = staff_or_404(request, pk), day_or_404(request, day)
    start, end = selectors.day_bounds(salon=request.salon, day=date)
    absence = selectors.away_on(stylist=stylist, start=start, end=end)
    if absence is None:
        tried = press(
            request,
            lambda: services.add_absence(
                stylist=stylist, kind=AbsenceKind.AWAY, first=date, last=date,
                by=request.user, at=timezone.now(),
            ),
        )  # fmt: skip
        if not tried.result:
            return redirect("clients:day_of", day)
        absence = tried.result[0]
    return redirect("clients:away", absence.pk)


@allow(DESK)
@require_GET
def away(request: SalonRequest, pk: int) -> HttpResponse:
    """Show who is booked while a stylist is away, over all days that were marked together."""
    time_off = access.absence_or_404(request, pk)
    group = selectors.absences_added_with(time_off)
    rows = selectors.displaced(
        salon=request.salon,
        spans=[(absence.starts_at, absence.ends_at) for absence in group],
        stylist=time_off.stylist,
        since=time_off.added_at,
        at=timezone.now(),
    )
    day = timezone.localtime(time_off.starts_at, request.salon.zone).date()
    names = {"name": f"\u2068{time_off.stylist}\u2069", "day": date_format(day, _("l j F"))}
    context = {
        "title": _("%(name)s is away") % names,
        "script": _(
            "“%(name)s is not in on %(day)s. May we give you another stylist or another time?”"
        )
        % names,
        "day": day,
        "back": f"away-{pk}",
        "cancel_reason": CancelReason.STYLIST_AWAY.value,
        "absence": time_off,
    }
    return _page(request, rows, context)


@allow(DESK)
@require_GET
def closed(request: SalonRequest, pk: int) -> HttpResponse:
    """Show who is booked on a day that was closed."""
    closed_day = access.closed_day_or_404(request, pk)
    rows = selectors.displaced(
        salon=request.salon,
        spans=[selectors.day_bounds(salon=request.salon, day=closed_day.date)],
        stylist=None,
        since=closed_day.added_at,
        at=timezone.now(),
        same_time=False,
    )
    names = {"day": date_format(closed_day.date, _("l j F"))}
    context = {
        "title": _("Closed on %(day)s") % names,
        "script": _("“We are closed on %(day)s. May we give you another time?”") % names,
        "day": closed_day.date,
        "back": f"closed-{pk}",
        "cancel_reason": CancelReason.SALON_CLOSED.value,
    }
    return _page(request, rows, context)


@allow(DESK)
@require_GET
def leaving(request: SalonRequest, pk: int) -> HttpResponse:
    """Show who is booked with someone from now on: for a member of staff who leaves."""
    stylist, now = staff_or_404(request, pk), timezone.now()
    rows = selectors.displaced(
        salon=request.salon,
        spans=[(now, now + dt.timedelta(days=400))],
        stylist=stylist,
        since=None,
        at=now,
    )
    names = {"name": f"\u2068{stylist}\u2069"}
    context = {
        "title": _("Booked with %(name)s") % names,
        "script": _("“%(name)s no longer works here. May we give you another stylist?”")
        % names,
        "day": selectors.today(salon=request.salon, at=now),
        "back": f"leaving-{pk}",
        "cancel_reason": CancelReason.STYLIST_LEFT.value,
    }
    return _page(request, rows, context)


@allow(DESK)
@require_POST
def call(request: SalonRequest, pk: int) -> HttpResponse:
    """Keep what came of a call about an appointment."""
    appointment = access.appointment_or_404(request, pk)
    form = CallForm(request.POST)
    if form.is_valid():
        services.record_call(
            client=appointment.client,
            appointment=appointment,
            by=request.user,
            at=timezone.now(),
            **form.cleaned_data,
        )
    else:
        messages.error(request, _("Choose the result of the call."))
    return redirect(back_to(request) or reverse("clients:appointment", args=[pk]))


def _page(request: SalonRequest, rows: list[Any], context: dict[str, object]) -> HttpResponse:
    found = {"rows": rows, "open": selectors.count_open(rows)}
    return render(request, "clients/displaced.html", {**context, **found})
