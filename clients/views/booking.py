"""Booking: for whom, what, with whom and when; once or again every few weeks."""

import datetime as dt

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_time
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients import access, selectors, services
from clients.diary import free_time
from clients.forms import BookingForm
from clients.models import Client
from clients.people import person
from clients.views.days import day_or_none
from salon.access import DESK, SalonRequest, allow
from salon.numbers import row_number
from salon.submissions import once


@allow(DESK)
@once
@require_http_methods(["GET", "POST"])
def book(request: SalonRequest) -> HttpResponse:
    """Book a client; without one, find the client first and keep the time."""
    given = request.POST or request.GET
    number = row_number(given.get("client", ""))
    if number is None:
        context = {
            # never empty: the links then lead back here, not to the client
            "book": request.GET.urlencode() or "walk_in=0",
            "clients": selectors.find_clients(salon=request.salon, text=""),
        }
        return render(request, "clients/book_whom.html", context)
    client = access.client_or_404(request, number)
    client = person.root(client)
    form = BookingForm(
        request.POST if request.method == "POST" else None,
        salon=request.salon,
        initial=_initial(request, client),
    )
    if request.method == "POST" and form.is_valid():
        try:
            booked = _book(request, client, dict(form.cleaned_data))
            return redirect("clients:appointment", booked)
        except services.BookingRefused as refusal:
            form.add_error("time", str(refusal))
            form.asks_together = isinstance(refusal, services.ClientElsewhere)
    return render(
        request,
        "clients/book.html",
        _context(request, client, form),
        status=422 if form.errors else 200,
    )


def _book(request: SalonRequest, client: Client, chosen: dict) -> int:
    """Book once or as a series; return the id of the first appointment."""
    every, count = chosen.pop("every_weeks"), chosen.pop("count")
    for name in ("day", "time"):
        chosen.pop(name)
    waiting = access.waiting_or_none(request, request.GET.get("waiting", ""))
    common = {"client": client, "by": request.user, "at": timezone.now(), **chosen}
    if every:
        booked = services.book_series(every_weeks=every, count=count, **common)
        messages.success(request, _("Booked %(n)d times.") % {"n": len(booked)})
    else:
        booked = [services.book_appointment(**common)]
        messages.success(request, _("Booked."))
    if waiting:
        services.close_waiting(
            entry=waiting, appointment=booked[0], by=request.user, at=timezone.now()
        )
    return booked[0].pk


def _context(request: SalonRequest, client: Client, form: BookingForm) -> dict[str, object]:
    now = timezone.now()
    wanted = form.wanted()
    return {
        "client": client,
        "form": form,
        "states": selectors.client_states(client=client, at=now),
        "alerts": selectors.alerts_in_force(client=client, viewer=request.user),
        "free": free_time.nearest(salon=request.salon, at=now, **wanted) if wanted else [],
    }


def _initial(request: SalonRequest, client: Client) -> dict[str, object]:
    """Fill in what the day's page, the last visit and the salon's lists already say."""
    now = timezone.localtime(timezone.now(), request.salon.zone)
    given = request.GET
    day = day_or_none(given.get("day", "")) or now.date()
    try:
        time = parse_time(given.get("time", ""))
    except ValueError:
        time = None
    offered = list(selectors.services_offered(salon=request.salon))
    last = selectors.last_visit(client=client)
    asked = next((one for one in offered if str(one.pk) == given.get("service")), None)
    usual = last.service if last and last.service in offered else None
    first_colour = next((one for one in offered if one.is_colour), None)
    line = row_number(given.get("line", ""))
    walks_in = given.get("walk_in") == "1"
    return {
        "day": day,
        "time": time or (_five_minutes(now) if walks_in else None),
        "stylist": row_number(given.get("stylist", "")) or client.preferred_stylist_id,
        "service": asked or usual or first_colour,
        "line": line
        or (last and last.line_id)
        or selectors.lines_in_use(salon=request.salon).first(),
        "is_walk_in": walks_in,
    }


def _five_minutes(now: dt.datetime) -> dt.time:
    """Return the five minutes that have begun: a walk-in starts now."""
    return now.time().replace(minute=now.minute - now.minute % 5, second=0, microsecond=0)
