"""A week laid out for the diary: seven days, each a list."""

import datetime as dt
from dataclasses import dataclass

from clients.diary.block import Block, badge_of
from clients.diary.opening import Hours
from clients.models import Appointment
from clients.skin_test.state import PatchState
from salon.models import Salon


@dataclass(frozen=True)
class WeekDay:
    """One day of the week with what is booked."""

    date: dt.date
    hours: Hours | None
    blocks: list[Block]
    is_today: bool


def week_days(
    *,
    first: dt.date,
    hours: dict[dt.date, Hours | None],
    appointments: list[Appointment],
    states: dict[int, PatchState],
    salon: Salon,
    today: dt.date,
) -> list[WeekDay]:
    """Return the seven days from `first`, each with its appointments in order."""
    days = []
    for ahead in range(7):
        date = first + dt.timedelta(days=ahead)
        booked = [a for a in appointments if a.starts_at.astimezone(salon.zone).date() == date]
        blocks = []
        for appointment in booked:
            state = states.get(appointment.pk)
            blocks.append(Block(appointment, state, badge_of(state)))
        days.append(WeekDay(date, hours[date], blocks, date == today))
    return days
