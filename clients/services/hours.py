"""Writes of opening hours, closed days, breaks and days off."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace

from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from clients.diary import opening
from clients.diary.public_holidays import Holiday
from clients.diary.yearly_holidays import YEARS_AHEAD, Yearly, days_of
from clients.models import Absence, AbsenceKind, ClosedDay, OpeningHours
from clients.models.diary import SLOT_MINUTES
from clients.policies import check_can_work_at_desk
from clients.services.claims import BookingRefused, claim_for_absence, release
from salon import audit
from salon.models import Salon, Staff
from salon.policies import require_owner

MOST_WEEKS = 26
MOST_DAYS_AWAY = 60


@transaction.atomic
def add_absence(
    *,
    stylist: Staff,
    kind: str,
    first: dt.date,
    last: dt.date,
    by: Staff,
    at: dt.datetime,
    start: dt.time | None = None,
    end: dt.time | None = None,
    weeks: int = 1,
) -> list[Absence]:
    """Keep a stylist's time free: a break at a time of day, or whole days.

    A break is refused where something is booked. A day off and an absence never are: the
    column closes at once, and what is booked is listed to be moved (`selectors.displaced`).
    """
    check_can_work_at_desk(stylist, by=by)
    spans = _spans(by.salon, (first, last), (start, end), weeks)
    if not spans:
        raise BookingRefused(
            _("The salon is closed then: no time off is needed."), code="closed"
        )
    added, clashes = [], []
    for span in spans:
        try:
            with transaction.atomic():
                absence = Absence(
                    salon=by.salon,
                    stylist=stylist,
                    kind=kind,
                    starts_at=span[0],
                    ends_at=span[1],
                    added_at=at,
                )
                absence.full_clean()
                absence.save()
                claim_for_absence(absence, over_bookings=kind != AbsenceKind.BREAK)
            added.append(absence)
        except BookingRefused as refusal:
            day = timezone.localtime(span[0], by.salon.zone)
            clashes.append(f"{date_format(day, _('D j M Y'))}: {refusal}")
    if clashes:
        raise BookingRefused(
            _("Nothing was changed.") + " " + " ".join(clashes), code="clashes"
        )
    for absence in added:
        audit.record_event("absence added", target=absence, by=by, at=at)
    return added


def _spans(
    salon: Salon,
    days: tuple[dt.date, dt.date],
    clock: tuple[dt.time | None, dt.time | None],
    weeks: int,
) -> list[tuple[dt.datetime, dt.datetime]]:
    (first, last), (start, end) = days, clock
    if last < first or (last - first).days >= MOST_DAYS_AWAY:
        raise BookingRefused(
            _("Choose a first and a last day, at most 60 days apart."), code="days"
        )
    if not 1 <= weeks <= MOST_WEEKS:
        raise BookingRefused(_("Repeat it for 1 to 26 weeks."), code="repeats")
    if (start is None) != (end is None) or (start and end and start >= end):
        raise BookingRefused(
            _("Enter a start and a later end, or leave both empty for whole days."),
            code="times",
        )
    spans = []
    for week in range(weeks):
        shift = dt.timedelta(weeks=week)
        found = opening.hours_between(salon=salon, first=first + shift, last=last + shift)
        for day, hours in found.items():
            if hours is None:
                continue
            begins = opening.instant(day, start, salon.zone) if start else hours.opens_at
            ends = opening.instant(day, end, salon.zone) if end else hours.closes_at
            spans.append((_on_step(begins), _on_step(ends)))
    return spans


def _on_step(moment: dt.datetime) -> dt.datetime:
    return moment - dt.timedelta(minutes=moment.minute % SLOT_MINUTES)


@transaction.atomic
def remove_absence(*, absence: Absence, by: Staff, at: dt.datetime) -> None:
    """Give a stylist's time back to the diary."""
    check_can_work_at_desk(absence, by=by)
    release(absence)
    audit.record_event("absence removed", target=absence, by=by, at=at)
    absence.delete()


@transaction.atomic
def set_hours(
    *,
    weekday: int,
    is_open: bool,
    opens_at: dt.time,
    closes_at: dt.time,
    by: Staff,
    at: dt.datetime,
) -> OpeningHours:
    """Set one weekday's hours; what is booked already stays."""
    require_owner(by=by)
    row = OpeningHours.objects.filter(salon=by.salon, weekday=weekday).first()
    row = row or OpeningHours(salon=by.salon, weekday=weekday)
    row.is_open, row.opens_at, row.closes_at = is_open, opens_at, closes_at
    row.full_clean()
    row.save()
    audit.record_event("hours set", target=row, by=by, at=at, weekday=weekday)
    return row


@transaction.atomic
def set_week(
    *, week: list[tuple[int, bool, dt.time, dt.time]], by: Staff, at: dt.datetime
) -> None:
    """Set the hours of several weekdays: all of them, or none."""
    require_owner(by=by)
    for weekday, is_open, opens_at, closes_at in week:
        set_hours(
            weekday=weekday,
            is_open=is_open,
            opens_at=opens_at,
            closes_at=closes_at,
            by=by,
            at=at,
        )


@transaction.atomic
def close_days(*, days: Mapping[dt.date, str], by: Staff, at: dt.datetime) -> list[ClosedDay]:
    """Close the salon on some dates, each with its reason: all of them, or none.

    What is booked stays, to be moved; a date that is closed already stays as it is.
    """
    require_owner(by=by)
    added = []
    for date, reason in sorted(days.items()):
        row, is_new = ClosedDay.objects.get_or_create(
            salon=by.salon, date=date, defaults={"reason": reason, "added_at": at}
        )
        if is_new:
            audit.record_event("day closed", target=row, by=by, at=at)
            added.append(row)
    return added


@transaction.atomic
def close_yearly(
    *, names: Sequence[str], area: str, by: Staff, at: dt.datetime
) -> list[ClosedDay]:
    """Close the salon on public holidays each year, and return the days added.

    A holiday that stays chosen keeps its days as they are, so one that was opened again for
    its year stays open. The coming days of one that is not chosen any more open.
    """
    require_owner(by=by)
    salon = Salon.objects.select_for_update().get(pk=by.salon_id)
    old, today = Yearly.of(salon), at.astimezone(salon.zone).date()
    chosen = Yearly(salon.region, area, sorted(names), today.year + YEARS_AHEAD)
    is_same = (old.country, old.area) == (chosen.country, chosen.area)
    kept = set(old.names) & set(names) if is_same else set()
    salon.yearly_holidays = chosen.as_kept()
    salon.save(update_fields=["yearly_holidays"])
    audit.record_event(
        "yearly holidays chosen", target=salon, by=by, at=at, count=len(chosen.names)
    )
    entered = ClosedDay.objects.filter(salon=salon, date__gte=today).exclude(holiday="")
    for row in entered.exclude(holiday__in=kept):
        open_day(closed=row, by=by, at=at)
    days = [
        *days_of(chosen, names=set(names) - kept, first=today.year, last=chosen.until),
        *days_of(chosen, names=kept, first=old.until + 1, last=chosen.until),
    ]
    return _enter(days, salon=salon, by=by, at=at)


@transaction.atomic
def enter_yearly(*, salon: Salon, at: dt.datetime) -> list[ClosedDay]:
    """Close the salon's yearly holidays in years not entered yet; a timer calls it."""
    salon = Salon.objects.select_for_update().get(pk=salon.pk)
    chosen, today = Yearly.of(salon), at.astimezone(salon.zone).date()
    last = today.year + YEARS_AHEAD
    if not chosen.is_of(salon) or chosen.until >= last:
        return []
    first = max(chosen.until + 1, today.year)
    days = days_of(chosen, names=chosen.names, first=first, last=last)
    salon.yearly_holidays = replace(chosen, until=last).as_kept()
    salon.save(update_fields=["yearly_holidays"])
    return _enter(days, salon=salon, by=None, at=at)


def _enter(
    days: Sequence[Holiday], *, salon: Salon, by: Staff | None, at: dt.datetime
) -> list[ClosedDay]:
    """Close the salon on holidays still to come; a day that is closed already stays."""
    today, added = at.astimezone(salon.zone).date(), []
    for day in sorted(days, key=lambda day: day.date):
        if day.date < today:
            continue
        row, is_new = ClosedDay.objects.get_or_create(
            salon=salon,
            date=day.date,
            defaults={"reason": day.name, "holiday": day.keys[0], "added_at": at},
        )
        if is_new:
            audit.record_event("day closed", target=row, by=by, at=at)
            added.append(row)
    return added


@transaction.atomic
def open_day(*, closed: ClosedDay, by: Staff, at: dt.datetime) -> None:
    """Open the salon again on a date that was closed."""
    require_owner(closed, by=by)
    audit.record_event("day opened", target=closed, by=by, at=at)
    closed.delete()
