"""A week laid out for the diary: seven days, each a list."""

import datetime as dt
from collections.abc import Set
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
    too_young: Set[int] = frozenset(),
    no_consent: Set[int] = frozenset(),
) -> list[WeekDay]:
    """Return the seven days from `first`, each with its appointments in order.

    `too_young` are the appointments of clients under age, `no_consent` those of who has
    withdrawn the consent to keep health data.
    """
    days = []
    for ahead in range(7):
        date = first + dt.timedelta(days=ahead)
        booked = [a for a in appointments if a.starts_at.astimezone(salon.zone).date() == date]
        blocks = []
        for appointment in booked:
            state = states.get(appointment.pk)
            young, withdrawn = appointment.pk in too_young, appointment.pk in no_consent
            block = Block(
                appointment,
                state,
                badge="stop" if young or withdrawn else badge_of(state),
                is_too_young=young,
                has_no_consent=withdrawn,
            )
            blocks.append(block)
        days.append(WeekDay(date, hours[date], blocks, date == today))
    return days
