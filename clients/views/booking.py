"""Booking: for whom, what, with whom and when; once or again every few weeks."""

import datetime as dt
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_time
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients import access, selectors, services
from clients.diary.book_address import book_address
from clients.forms import BookingForm
from clients.models import Appointment, Client
from clients.people import person
from clients.views.booking_panel import slot_of
from clients.views.days import day_or_none
from clients.views.desk_draft import address_of, fill, forget, keep_refused, typed
from salon.access import DESK, SalonRequest, allow
from salon.attempts import attempt
from salon.numbers import row_number
from salon.submissions import once


@allow(DESK)
@once
@require_http_methods(["GET", "POST"])
def book(request: SalonRequest) -> HttpResponse:
    """Book a client; without one, find the client first and keep the time."""
    values = request.POST or request.GET
    number = row_number(values.get("client", ""))
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
    left = typed(request)
    fill(form, left)
    tried = attempt(
        request, form, lambda data: _book(request, client, dict(data)), field="time"
    )
    if tried.result:
        forget(request)
        return redirect(_next(request, tried.result))
    keep_refused(request)
    form.offers_together = isinstance(tried.refusal, services.ClientElsewhere)
    return render(
        request,
        "clients/book.html",
        _context(request, client, form) | {"left": left, "address": address_of(request)},
        status=tried.status,
    )


def _next(request: SalonRequest, booked: Appointment) -> str:
    """Return the page that follows: the appointment, or the next of the household."""
    then = row_number(request.POST.get("then", ""))
    members = {member.pk for member in selectors.household_of(client=booked.client)}
    if then not in members:
        return reverse("clients:appointment", args=[booked.pk])
    ends = timezone.localtime(booked.ends_at, request.salon.zone)
    return book_address(client=then, stylist=booked.stylist_id, at=ends)


def _book(request: SalonRequest, client: Client, chosen: dict[str, Any]) -> Appointment:
    """Book once, with the visits of its test, or as a series; return the first appointment."""
    with_test = chosen.pop("with_test")
    place = slot_of(request, chosen.pop("place_at"))
    read = slot_of(request, chosen.pop("read_at"))
    every, count = chosen.pop("every_weeks"), chosen.pop("count")
    for name in ("day", "time"):
        chosen.pop(name)
    waiting = access.waiting_or_none(request, request.GET.get("waiting", ""))
    common = {"client": client, "by": request.user, "at": timezone.now(), **chosen}
    if with_test and place and read:
        booked = [services.book_with_test(place=place, read=read, **common)]
        messages.success(request, _("Booked, with both patch-test visits."))
    elif with_test:
        raise services.BookingRefused(
            _("Choose the times for the patch test again."), code="no_test_times"
        )
    elif every:
        booked = services.book_series(every_weeks=every, count=count, **common)
        messages.success(request, _("Booked %(n)d times.") % {"n": len(booked)})
    else:
        booked = [services.book_appointment(**common)]
        messages.success(request, _("Booked."))
    if waiting:
        services.close_waiting(
            entry=waiting, appointment=booked[0], by=request.user, at=timezone.now()
        )
    return booked[0]


def _context(request: SalonRequest, client: Client, form: BookingForm) -> dict[str, object]:
    now = timezone.now()
    return {
        "client": client,
        "form": form,
        "states": selectors.client_states(client=client, at=now),
        "alerts": selectors.alerts_in_force(client=client, viewer=request.user),
        "household": selectors.household_of(client=client),
        "no_shows": selectors.no_shows(client=client),
    }


def _initial(request: SalonRequest, client: Client) -> dict[str, object]:
    """Fill in what the day's page, the last visit and the salon's lists already say."""
    now = timezone.localtime(timezone.now(), request.salon.zone)
    values = request.GET
    day = day_or_none(values.get("day", "")) or now.date()
    try:
        time = parse_time(values.get("time", ""))
    except ValueError:
        time = None
    offered = list(selectors.services_offered(salon=request.salon))
    last = selectors.last_visit(client=client)
    chosen = next(
        (service for service in offered if str(service.pk) == values.get("service")), None
    )
    usual = last.service if last and last.service in offered else None
    first_colour = next((service for service in offered if service.is_colour), None)
    line = row_number(values.get("line", ""))
    walks_in = values.get("walk_in") == "1"
    service = chosen or usual or first_colour or next(iter(offered), None)
    if service is None or not service.is_colour:
        known_line = None
    else:
        known_line = (
            line
            or (last and last.line_id)
            or selectors.lines_in_use(salon=request.salon).values_list("pk", flat=True).first()
        )
    return {
        "day": day,
        "time": time or (_five_minutes(now) if walks_in else None),
        "stylist": row_number(values.get("stylist", "")) or client.preferred_stylist_id,
        "service": service and service.pk,
        "line": known_line,
        "is_walk_in": walks_in,
    }


def _five_minutes(now: dt.datetime) -> dt.time:
    """Return the five minutes that have begun: a walk-in starts now."""
    return now.time().replace(minute=now.minute - now.minute % 5, second=0, microsecond=0)
