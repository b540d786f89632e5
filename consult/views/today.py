"""The stylist's day, and the door to each visit."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from clients.access import appointment_or_404
from clients.selectors import day_bounds
from consult import access, services
from consult.bench import check_times
from consult.history import histories
from consult.views.doors import go_on
from salon.access import BENCH, SalonRequest, allow
from salon.attempts import press
from salon.numbers import row_number
from salon.submissions import once


@allow(BENCH)
@require_GET
def today(request: SalonRequest) -> HttpResponse:
    """Show today's clients with what is in the way of each."""
    now = timezone.now()
    day = timezone.localtime(now, request.salon.zone).date()
    everyone = request.GET.get("whose") == "all" or not request.user.has_column
    start, _ = day_bounds(salon=request.salon, day=day)
    context = {
        "day": day,
        "everyone": everyone,
        "seats": histories.todays_seats(
            salon=request.salon,
            stylist=None if everyone else request.user,
            day=day,
            at=now,
            viewer=request.user,
        ),
        "unfinished": histories.unfinished(salon=request.salon, before=start)[:20],
        "now": now,
        "running": check_times.running(
            salon=request.salon, stylist=None if everyone else request.user
        ),
    }
    return render(request, "consult/today.html", context)


@allow(BENCH)
@once
@require_POST
def open_visit(request: SalonRequest, pk: int) -> HttpResponse:
    """Open the visit of an appointment, or go on with the one that is open."""
    appointment = appointment_or_404(request, pk)
    corrects = None
    if number := row_number(request.POST.get("corrects", "")):
        corrects = access.visit_or_404(request, number)
    tried = press(
        request,
        lambda: services.open_visit(
            appointment=appointment, by=request.user, at=timezone.now(), corrects=corrects
        ),
    )
    if not tried.result:
        return redirect("consult:today")
    visit = tried.result
    return go_on(request, visit) if corrects else redirect("consult:visit", visit.pk)
