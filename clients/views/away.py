"""A stylist is away, has left, or a day is closed: who is booked, and what became of each."""

import datetime as dt

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
from clients.models import AbsenceKind
from clients.views.back import back_to
from clients.views.days import day_or_404
from salon.access import DESK, SalonRequest, allow, staff_or_404


@allow(DESK)
@require_POST
def mark_away(request: SalonRequest, day: str, pk: int) -> HttpResponse:
    """Close a stylist's column for a day; whoever is booked is listed, never a refusal."""
    stylist, date = staff_or_404(request, pk), day_or_404(request, day)
    start, end = selectors.day_bounds(salon=request.salon, day=date)
    standing = selectors.away_on(stylist=stylist, start=start, end=end)
    if standing is None:
        try:
            standing = services.add_absence(
                stylist=stylist, kind=AbsenceKind.AWAY, first=date, last=date,
                by=request.user, at=timezone.now(),
            )[0]  # fmt: skip
        except services.BookingRefused as refusal:
            messages.error(request, str(refusal))
            return redirect("clients:day_of", day)
    return redirect("clients:away", standing.pk)


@allow(DESK)
@require_GET
def away(request: SalonRequest, pk: int) -> HttpResponse:
    """Show who is booked while a stylist is away, over all days that were marked together."""
    one = access.absence_or_404(request, pk)
    group = selectors.absences_added_with(one)
    rows = selectors.displaced(
        salon=request.salon,
        spans=[(absence.starts_at, absence.ends_at) for absence in group],
        stylist=one.stylist,
        since=one.added_at,
        at=timezone.now(),
    )
    day = timezone.localtime(one.starts_at, request.salon.zone).date()
    told = {"name": f"\u2068{one.stylist}\u2069", "day": date_format(day, _("l j F"))}
    context = {
        "title": _("%(name)s is away") % told,
        "words": _(
            "“%(name)s is not in on %(day)s. May we give you another stylist or another time?”"
        )
        % told,
        "day": day,
        "back": f"away-{pk}",
        "absence": one,
    }
    return _page(request, rows, context)


@allow(DESK)
@require_GET
def closed(request: SalonRequest, pk: int) -> HttpResponse:
    """Show who is booked on a day that was closed."""
    one = access.closed_day_or_404(request, pk)
    rows = selectors.displaced(
        salon=request.salon,
        spans=[selectors.day_bounds(salon=request.salon, day=one.date)],
        stylist=None,
        since=one.added_at,
        at=timezone.now(),
        same_time=False,
    )
    told = {"day": date_format(one.date, _("l j F"))}
    context = {
        "title": _("Closed on %(day)s") % told,
        "words": _("“We are closed on %(day)s. May we give you another time?”") % told,
        "day": one.date,
        "back": f"closed-{pk}",
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
    told = {"name": f"\u2068{stylist}\u2069"}
    context = {
        "title": _("Booked with %(name)s") % told,
        "words": _("“%(name)s no longer works here. May we give you another stylist?”") % told,
        "day": selectors.today(salon=request.salon, at=now),
        "back": f"leaving-{pk}",
    }
    return _page(request, rows, context)


@allow(DESK)
@require_POST
def call(request: SalonRequest, pk: int) -> HttpResponse:
    """Keep what came of a call about an appointment."""
    one = access.appointment_or_404(request, pk)
    form = CallForm(request.POST)
    if form.is_valid():
        services.record_call(
            client=one.client, appointment=one, by=request.user, at=timezone.now(),
            **form.cleaned_data,
        )  # fmt: skip
    else:
        messages.error(request, _("Choose what came of the call."))
    return redirect(back_to(request) or reverse("clients:appointment", args=[pk]))


def _page(request: SalonRequest, rows: list, context: dict[str, object]) -> HttpResponse:
    found = {"rows": rows, "open": selectors.count_open(rows)}
    return render(request, "clients/displaced.html", {**context, **found})
