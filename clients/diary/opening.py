"""When the salon is open, by its own clocks. All arithmetic is done on instants (UTC)."""

import datetime as dt
from dataclasses import dataclass

from clients.models import ClosedDay, OpeningHours, Weekday
from salon.models import Salon


@dataclass(frozen=True)
class Hours:
    """One day's opening and closing, as instants."""

    opens_at: dt.datetime
    closes_at: dt.datetime


def instant(day: dt.date, clock: dt.time, zone: dt.tzinfo) -> dt.datetime:
    """Return the instant of a clock time on a day; arithmetic on it is safe."""
    return dt.datetime.combine(day, clock, tzinfo=zone).astimezone(dt.UTC)


def is_skipped(day: dt.date, clock: dt.time, zone: dt.tzinfo) -> bool:
    """Return whether the clocks jump over this time on that day."""
    there_and_back = instant(day, clock, zone).astimezone(zone)
    return there_and_back.replace(tzinfo=None) != dt.datetime.combine(day, clock)


def hours_on(*, salon: Salon, day: dt.date) -> Hours | None:
    """Return a day's hours, or None where the salon is closed."""
    return hours_between(salon=salon, first=day, last=day)[day]


def hours_between(
    *, salon: Salon, first: dt.date, last: dt.date
) -> dict[dt.date, Hours | None]:
    """Return the hours of every day of a range, in two queries."""
    closed = set(
        ClosedDay.objects.filter(salon=salon, date__range=(first, last)).values_list(
            "date", flat=True
        )
    )
    by_weekday = {row.weekday: row for row in OpeningHours.objects.filter(salon=salon)}
    found: dict[dt.date, Hours | None] = {}
    for ahead in range((last - first).days + 1):
        day = first + dt.timedelta(days=ahead)
        row = by_weekday.get(day.weekday())
        if day in closed or (row is not None and not row.is_open):
            found[day] = None
            continue
        opens = row.opens_at if row else salon.opens_at
        closes = row.closes_at if row else salon.closes_at
        found[day] = Hours(instant(day, opens, salon.zone), instant(day, closes, salon.zone))
    return found


def day_bounds(*, salon: Salon, day: dt.date) -> tuple[dt.datetime, dt.datetime]:
    """Return the first instant of a day and of the next, by the salon's clocks."""
    midnight = dt.time()
    return (
        instant(day, midnight, salon.zone),
        instant(day + dt.timedelta(days=1), midnight, salon.zone),
    )


def week_of(*, salon: Salon) -> list[OpeningHours]:
    """Return the seven weekdays' hours, the usual ones where a day has none of its own."""
    rows = {row.weekday: row for row in OpeningHours.objects.filter(salon=salon)}
    return [
        rows.get(day.value)
        or OpeningHours(
            salon=salon,
            weekday=day.value,
            opens_at=salon.opens_at,
            closes_at=salon.closes_at,
        )
        for day in Weekday
    ]
