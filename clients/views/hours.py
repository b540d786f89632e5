"""Opening hours, closed days, breaks and days off."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from clients import access, selectors, services
from clients.diary import opening
from clients.forms import AbsenceForm, ClosedDayForm, HoursForm
from salon.access import DESK, OWNER, SalonRequest, allow
from salon.attempts import attempt
from salon.submissions import once


def _context(request: SalonRequest, **forms: object) -> dict[str, object]:
    salon, now = request.salon, timezone.now()
    today = selectors.today(salon=salon, at=now)
    return {
        "week": opening.week_of(salon=salon),
        "closed_days": selectors.coming_closed_days(salon=salon, day=today),
        "absences": selectors.coming_absences(salon=salon, at=now),
        "absence_form": AbsenceForm(salon=salon, today=today),
        "hours_form": HoursForm(
            initial={"opens_at": salon.opens_at, "closes_at": salon.closes_at}
        ),
        "closed_form": ClosedDayForm(),
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
    """Close the salon on a date."""
    form = ClosedDayForm(request.POST)
    if form.is_valid():
        row = services.close_day(by=request.user, at=timezone.now(), **form.cleaned_data)
        messages.success(request, _("Closed."))
        if selectors.day_appointments(salon=request.salon, day=row.date):
            return redirect("clients:closed", row.pk)
        return redirect("clients:hours")
    context = _context(request, closed_form=form)
    return render(request, "clients/hours.html", context, status=422)


@allow(OWNER)
@require_POST
def open_day(request: SalonRequest, pk: int) -> HttpResponse:
    """Open the salon again on a date."""
    closed = access.closed_day_or_404(request, pk)
    services.open_day(closed=closed, by=request.user, at=timezone.now())
    return redirect("clients:hours")
