"""Opening hours, closed days, breaks and days off."""

import datetime as dt
from collections.abc import Mapping, Sequence

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clients import access, selectors, services
from clients.diary import opening
from clients.diary import public_holidays as public
from clients.diary import yearly_holidays as yearly
from clients.forms import (
    AbsenceForm,
    AreaForm,
    ClosedDayForm,
    HolidaysForm,
    HolidayYearForm,
    HoursForm,
    YearlyHolidaysForm,
)
from clients.models import ClosedDay
from salon.access import DESK, OWNER, SalonRequest, allow
from salon.attempts import attempt
from salon.submissions import once


def _context(request: SalonRequest, **forms: object) -> dict[str, object]:
    salon, now = request.salon, timezone.now()
    today = selectors.today(salon=salon, at=now)
    return {
        "week": opening.week_of(salon=salon),
        "closed_days": list(selectors.coming_closed_days(salon=salon, day=today)),
        "absences": selectors.coming_absences(salon=salon, at=now),
        "absence_form": AbsenceForm(salon=salon, today=today),
        "hours_form": HoursForm(
            initial={"opens_at": salon.opens_at, "closes_at": salon.closes_at}
        ),
        "closed_form": ClosedDayForm(),
        "yearly": yearly.Yearly.of(salon),
        "yearly_has_moved": yearly.Yearly.of(salon).has_moved(salon),
        **forms,
    }


@allow(DESK)
@require_GET
def hours(request: SalonRequest) -> HttpResponse:
    """Show when the salon is open and who is away."""
    return render(request, "clients/hours.html", _context(request))


@allow(DESK)
@once
@require_POST
def add_absence(request: SalonRequest) -> HttpResponse:
    """Keep a stylist's time free."""
    now = timezone.now()
    today = selectors.today(salon=request.salon, at=now)
    form = AbsenceForm(request.POST, salon=request.salon, today=today)
    tried = attempt(
        request, form, lambda data: services.add_absence(by=request.user, at=now, **data)
    )
    if tried.result:
        messages.success(request, _("Saved."))
        if selectors.has_bookings(tried.result):
            return redirect("clients:away", tried.result[0].pk)
        return redirect("clients:hours")
    context = _context(request, absence_form=form)
    return render(request, "clients/hours.html", context, status=tried.status)


@allow(DESK)
@require_POST
def remove_absence(request: SalonRequest, pk: int) -> HttpResponse:
    """Give the time back."""
    absence = access.absence_or_404(request, pk)
    services.remove_absence(absence=absence, by=request.user, at=timezone.now())
    messages.success(request, _("This time can be booked again."))
    return redirect("clients:hours")


@allow(OWNER)
@require_POST
def set_hours(request: SalonRequest) -> HttpResponse:
    """Set one weekday's hours."""
    form = HoursForm(request.POST)
    if form.is_valid():
        services.set_hours(by=request.user, at=timezone.now(), **form.cleaned_data)
        messages.success(request, _("Saved. Existing bookings stay."))
        return redirect("clients:hours")
    context = _context(request, hours_form=form)
    return render(request, "clients/hours.html", context, status=422)


@allow(OWNER)
@require_POST
def close_day(request: SalonRequest) -> HttpResponse:
    """Close the salon on a date, or from a first to a last."""
    form = ClosedDayForm(request.POST)
    if form.is_valid():
        return _closed(request, form.days())
    context = _context(request, closed_form=form)
    return render(request, "clients/hours.html", context, status=422)


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def public_holidays(request: SalonRequest) -> HttpResponse:
    """Show a year's public holidays of the salon's country; close the salon on those ticked."""
    salon = request.salon
    today = selectors.today(salon=salon, at=timezone.now())
    areas = public.areas_of(salon.region)
    wanted = {"year": str(today.year), **request.GET.dict()}
    form = HolidayYearForm(wanted, areas=areas, today=today)
    found: list[public.Holiday] = []
    if form.is_valid() and public.is_known(salon.region):
        year, area = form.cleaned_data["year"], form.cleaned_data.get("area", "")
        found = public.of_year(country=salon.region, area=area, year=year)
        shut = opening.hours_between(
            salon=salon, first=dt.date(year, 1, 1), last=dt.date(year, 12, 31)
        )
        found = [day for day in found if day.date >= today and shut[day.date] is not None]
    posted = request.POST if request.method == "POST" else None
    ticks = HolidaysForm(posted, found=found)
    if posted is not None and ticks.is_valid():
        return _closed(request, ticks.days())
    context = {
        "form": form,
        "ticks": ticks,
        "found": found,
        "is_known": public.is_known(salon.region),
    }
    status = 422 if form.errors or ticks.errors else 200
    return render(request, "clients/public_holidays.html", context, status=status)


@allow(OWNER)
@require_http_methods(["GET", "POST"])
def yearly_holidays(request: SalonRequest) -> HttpResponse:
    """Show the country's public holidays; close the salon each year on those ticked."""
    salon, now = request.salon, timezone.now()
    known, chosen = public.is_known(salon.region), yearly.Yearly.of(salon)
    usual = chosen.area if chosen.country == salon.region else ""
    areas = public.areas_of(salon.region)
    form = AreaForm({"area": usual, **request.GET.dict()}, areas=areas)
    area = form.cleaned_data["area"] if form.is_valid() else ""
    found = []
    if known and form.is_valid():
        today = selectors.today(salon=salon, at=now)
        found = yearly.offered(country=salon.region, area=area, today=today)
    is_new = not chosen.is_of(salon)
    initial = {"names": [day.keys[0] for day in found] if is_new else chosen.names}
    posted = request.POST if request.method == "POST" else None
    ticks = YearlyHolidaysForm(posted, found=found, initial=initial)
    if posted is not None and form.is_valid() and ticks.is_valid():
        names = ticks.cleaned_data["names"]
        added = services.close_yearly(names=names, area=area, by=request.user, at=now)
        return _lead_on(request, added)
    context = {
        "form": form, "ticks": ticks, "found": found, "is_known": known, "areas": areas,
        "chosen": chosen, "has_moved": chosen.has_moved(salon),
    }  # fmt: skip
    status = 422 if form.errors or ticks.errors else 200
    return render(request, "clients/yearly_holidays.html", context, status=status)


def _closed(request: SalonRequest, days: Mapping[dt.date, str]) -> HttpResponse:
    """Close some days, and lead to who is booked on them."""
    added = services.close_days(days=days, by=request.user, at=timezone.now())
    return _lead_on(request, added)


def _lead_on(request: SalonRequest, added: Sequence[ClosedDay]) -> HttpResponse:
    """Lead to who is booked on the first of the days just closed, where somebody is."""
    words = ngettext("%(n)s day closed.", "%(n)s days closed.", len(added))
    messages.success(request, words % {"n": len(added)})
    booked = selectors.booked_days(added)
    if len(booked) > 1:
        dates = ", ".join(date_format(row.date, _("j M")) for row in booked)
        words = _("Booked on %(days)s: hand these over day by day.")
        messages.info(request, words % {"days": dates})
    if booked:
        return redirect("clients:closed", booked[0].pk)
    return redirect("clients:hours")


@allow(OWNER)
@require_POST
def open_day(request: SalonRequest, pk: int) -> HttpResponse:
    """Open the salon again on a date."""
    closed = access.closed_day_or_404(request, pk)
    services.open_day(closed=closed, by=request.user, at=timezone.now())
    return redirect("clients:hours")
