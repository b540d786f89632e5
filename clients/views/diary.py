"""The diary: the day, the week, and what other desks changed since."""

import datetime as dt

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.formats import get_format
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from clients import access, selectors
from clients.diary import opening
from clients.diary.week import week_days
from clients.views.days import (
    day_context,
    day_or_404,
    day_or_none,
    forbidden_among,
    sheet_rows,
)
from salon.access import DESK, SalonRequest, allow
from salon.numbers import row_number
from salon.selectors import columns, policy_in_force


@allow(DESK)
@require_GET
@vary_on_headers("HX-Request")
def day(request: SalonRequest, day: str | None = None) -> HttpResponse:
    """Show a day: a column per stylist, each appointment with its patch-test state.

    A desk that asks again with the stamp it has seen gets 204 while nothing has changed.
    """
    wanted = request.GET.get("date")
    if wanted:
        found = day_or_none(wanted)
        return (
            redirect("clients:day_of", found.isoformat()) if found else redirect("clients:day")
        )
    shown = day_or_404(request, day)
    since = request.GET.get("since")
    if since and since == selectors.change_stamp(salon=request.salon, at=timezone.now()):
        return HttpResponse(status=204)
    if request.htmx:
        return render(request, "clients/_day.html", day_context(request, shown))
    context = day_context(request, shown) | _just_cancelled(request)
    return render(request, "clients/day.html", context)


@allow(DESK)
@require_GET
def sheet(request: SalonRequest, day: str) -> HttpResponse:
    """Show a day as a list for the printer: stops and alerts in words, not in colours."""
    shown = day_or_404(request, day)
    context = {"day": shown, "rows": sheet_rows(request, shown)}
    return render(request, "clients/day_sheet.html", context)


def _just_cancelled(request: SalonRequest) -> dict[str, object]:
    """Return the appointment that was cancelled a moment ago, and who waits for its time."""
    number = row_number(request.GET.get("cancelled", ""))
    if number is None:
        return {}
    appointment = access.appointment_or_404(request, number)
    if not appointment.is_off:
        return {}
    return {
        "cancelled": appointment,
        "waiting": selectors.waiting_for(appointment=appointment)[:3],
    }


@allow(DESK)
@require_GET
def week(request: SalonRequest, day: str | None = None) -> HttpResponse:
    """Show the seven days from a Monday, of everyone or of one stylist."""
    chosen = day_or_404(request, day)
    first = chosen - dt.timedelta(days=(chosen.weekday() - _first_weekday()) % 7)
    now = timezone.now()
    stylists = list(columns(salon=request.salon))
    only = next(
        (stylist for stylist in stylists if str(stylist.pk) == request.GET.get("stylist")), None
    )
    appointments = selectors.week_appointments(salon=request.salon, first=first)
    if only:
        appointments = [
            appointment for appointment in appointments if appointment.stylist_id == only.pk
        ]
    last = first + dt.timedelta(days=6)
    context = {
        "days": week_days(
            first=first,
            hours=opening.hours_between(salon=request.salon, first=first, last=last),
            appointments=appointments,
            states=selectors.states_of(appointments, at=now),
            salon=request.salon,
            today=selectors.today(salon=request.salon, at=now),
            **forbidden_among(
                appointments, policy=policy_in_force(salon=request.salon), salon=request.salon
            ),
        ),
        "first": first,
        "last": last,
        "before": first - dt.timedelta(days=7),
        "after": first + dt.timedelta(days=7),
        "stylists": stylists,
        "only": only,
        "count": len(appointments),
    }
    return render(request, "clients/week.html", context)


def _first_weekday() -> int:
    """Return the day that a week begins with where the reader lives; 0 is Monday."""
    return (int(get_format("FIRST_DAY_OF_WEEK")) - 1) % 7
