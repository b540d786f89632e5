"""What the booking form is drawn with as its choices change: the day, the test's visits."""

import datetime as dt
from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.dateparse import parse_time
from django.views.decorators.http import require_GET

from clients import access, selectors
from clients.diary.opening import instant
from clients.models import Client, Service
from clients.people import person
from clients.views.days import day_or_none
from formulas.models import ProductLine
from salon.access import DESK, SalonRequest, allow
from salon.models import Staff
from salon.numbers import row_number
from salon.selectors import columns

SIX_WEEKS = dt.timedelta(weeks=6)


@dataclass(frozen=True)
class Fields:
    """What of the booking form a part of the page depends on."""

    on: tuple[str, ...]

    @property
    def names(self) -> str:
        """What the part is asked with."""
        return ",".join(self.on)

    @property
    def selectors(self) -> str:
        """Whose changes draw the part again."""
        return ",".join(f"#booking [name={name}]" for name in self.on)


DAY_FIELDS = Fields(on=("client", "service", "line", "stylist", "day", "chair"))


@dataclass(frozen=True)
class Chosen:
    """What the form says so far; what is empty or odd is left out."""

    client: Client
    service: Service | None
    line: ProductLine | None
    day: dt.date
    starts_at: dt.datetime | None


@allow(DESK)
@require_GET
def booking_day(request: SalonRequest) -> HttpResponse:
    """Draw the day of everyone, with every start that fits what the form says."""
    chosen, now = _chosen(request), timezone.now()
    context: dict[str, object] = {"chosen": chosen, "day": chosen.day}
    if chosen.service:
        chair = row_number(request.GET.get("chair", ""))
        context["shown"] = selectors.booking_day(
            salon=request.salon,
            client=chosen.client,
            service=chosen.service,
            line=chosen.line,
            chair=selectors.chairs_in_use(salon=request.salon).filter(pk=chair).first()
            if chair
            else None,
            day=chosen.day,
            at=now,
        )
    stylist = row_number(request.GET.get("stylist", ""))
    context |= {
        "fields": DAY_FIELDS,
        "stylist": stylist,
        "before": chosen.day - dt.timedelta(days=1),
        "after": chosen.day + dt.timedelta(days=1),
        "six_weeks": chosen.day + SIX_WEEKS,
        "today": selectors.today(salon=request.salon, at=now),
    }
    return render(request, "clients/_booking_day.html", context)


@allow(DESK)
@require_GET
def booking_tests(request: SalonRequest) -> HttpResponse:
    """Draw the times for placing and reading a test, where the booking wants one."""
    chosen = _chosen(request)
    visits = None
    if chosen.service and chosen.service.is_colour and chosen.line and chosen.starts_at:
        place = slot_of(request, request.GET.get("place_at", ""))
        visits = selectors.patch_visits(
            salon=request.salon,
            client=chosen.client,
            line=chosen.line,
            starts_at=chosen.starts_at,
            place_at=place[0] if place else None,
            at=timezone.now(),
        )
    context = {
        "visits": visits,
        "with_test": request.GET.get("with_test") == "on",
        "place_at": request.GET.get("place_at", ""),
        "read_at": request.GET.get("read_at", ""),
    }
    return render(request, "clients/_booking_tests.html", context)


def slot_of(request: SalonRequest, text: str) -> tuple[dt.datetime, Staff] | None:
    """Return the start and stylist that an option names ("2026-12-01T09:00Z 7"), or None."""
    when, _space, stylist_pk = text.partition(" ")
    try:
        moment = dt.datetime.fromisoformat(when)
    except ValueError:
        return None
    number = row_number(stylist_pk)
    stylist = columns(salon=request.salon).filter(pk=number).first() if number else None
    if stylist is None or moment.tzinfo is None or not 2000 <= moment.year <= 2100:
        return None
    return moment, stylist


def _chosen(request: SalonRequest) -> Chosen:
    values = request.GET
    client = access.client_or_404(request, row_number(values.get("client", "")) or 0)
    offered = selectors.services_offered(salon=request.salon)
    lines = selectors.lines_in_use(salon=request.salon)
    day = day_or_none(values.get("day", ""))
    now = timezone.localtime(timezone.now(), request.salon.zone)
    try:
        time = parse_time(values.get("time", ""))
    except ValueError:
        time = None
    return Chosen(
        client=person.root(client),
        service=offered.filter(pk=row_number(values.get("service", "")) or 0).first(),
        line=lines.filter(pk=row_number(values.get("line", "")) or 0).first(),
        day=day or now.date(),
        starts_at=instant(day, time, request.salon.zone) if day and time else None,
    )
