"""Days in the address and the page of a day, shared by the diary's views."""

import datetime as dt

from django.http import Http404
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.utils.translation import gettext as _

from clients import selectors
from clients.diary import opening
from clients.diary.block import STILL_OPEN
from clients.diary.day_grid import Grid, day_grid
from clients.models import Appointment
from clients.selectors.health_consent import withdrawn_among
from salon.access import SalonRequest
from salon.models import Policy, Salon
from salon.selectors import columns, policy_in_force


def day_or_404(request: SalonRequest, text: str | None) -> dt.date:
    """Return the day of an address; today where none is given."""
    if text is None:
        return selectors.today(salon=request.salon, at=timezone.now())
    day = day_or_none(text)
    if day is None:
        raise Http404(_("This is not a valid day."))
    return day


def day_or_none(text: str) -> dt.date | None:
    """Return a day that a diary reaches; a week before and after it exist as well."""
    try:
        day = parse_date(text)
    except ValueError:
        return None
    return day if day is not None and 2000 <= day.year <= 2100 else None


def forbidden_among(
    appointments: list[Appointment], *, policy: Policy, salon: Salon
) -> dict[str, set[int]]:
    """Return the colour appointments that no test opens, by why, as a grid takes them."""
    withdrawn = withdrawn_among([appointment.client for appointment in appointments])
    colour = [appointment for appointment in appointments if appointment.line_id]
    return {
        "too_young": {
            appointment.pk
            for appointment in colour
            if selectors.is_too_young(appointment, policy, salon.zone)
        },
        "no_consent": {
            appointment.pk
            for appointment in colour
            if appointment.client.person.pk in withdrawn
        },
    }


def sheet_rows(request: SalonRequest, day: dt.date) -> list[dict[str, object]]:
    """Return the day's appointments in order, each with the alerts of its client."""
    context = day_context(request, day, with_ended=True)
    grid: Grid = context["grid"]  # type: ignore[assignment]
    return [{"block": block, "alerts": block.alerts} for block in grid.in_order]


def day_context(
    request: SalonRequest, day: dt.date, *, with_ended: bool = False
) -> dict[str, object]:
    """Return what the page of a day shows.

    It says nothing of the tests and alerts of who has gone: those are looked up `with_ended`
    only.
    """
    salon, now = request.salon, timezone.now()
    today = selectors.today(salon=salon, at=now)
    start, end = selectors.day_bounds(salon=salon, day=day)
    appointments = selectors.week_appointments(salon=salon, first=day, days=1)
    known = [one for one in appointments if with_ended or one.status in STILL_OPEN]
    policy = policy_in_force(salon=salon)
    grid = day_grid(
        salon=salon,
        hours=opening.hours_on(salon=salon, day=day),
        usual=opening.Hours(
            opening.instant(day, salon.opens_at, salon.zone),
            opening.instant(day, salon.closes_at, salon.zone),
        ),
        stylists=list(columns(salon=salon)),
        appointments=appointments,
        absences=selectors.absences_between(salon=salon, start=start, end=end),
        states=selectors.states_of(known, at=now, policy=policy),
        now=now,
        alerts=selectors.alerts_of(
            clients=[appointment.client for appointment in known], viewer=request.user
        ),
        **forbidden_among(known, policy=policy, salon=salon),
    )
    return {
        "day": day,
        "today": today,
        "is_today": day == today,
        "before": day - dt.timedelta(days=1),
        "after": day + dt.timedelta(days=1),
        "six_weeks": day + dt.timedelta(weeks=6),
        "grid": grid,
        "left_open": selectors.open_business(salon=salon, day=day) if day == today else [],
        "off": selectors.off_appointments(salon=salon, day=day),
        "count": len(appointments),
        "stopped": sum(block.wants_test for block in grid.in_order),
        "stamp": selectors.change_stamp(salon=salon, at=now),
    }
