"""Whom to phone today, why, what to say, and what came of it."""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from clients.diary.opening import day_bounds
from clients.messages import occasions, reminder_texts
from clients.messages.occasions import Occasion
from clients.models import (
    Appointment,
    CallOutcome,
    Client,
    ClientCall,
    ContactBy,
    Reminder,
    ReminderKind,
    ReminderStatus,
)
from clients.selectors.desk import today
from salon.models import Salon


@dataclass(frozen=True)
class CallLine:
    """One client to phone: the reason, what to say, and the calls there were."""

    occasion: Occasion
    why: str
    script: str
    appointment: Appointment | None
    calls: list[ClientCall] = field(default_factory=list)

    @property
    def client(self) -> Client:
        """Whom to phone."""
        return self.occasion.client

    @property
    def reason(self) -> str:
        """What the call is kept under."""
        return "test" if self.occasion.kind in _TESTS else "reminder"

    @property
    def is_done(self) -> bool:
        """Whether the client was reached, or the visit is confirmed already."""
        reached = any(call.outcome == CallOutcome.REACHED for call in self.calls)
        confirmed = self.appointment is not None and self.appointment.confirmed_at is not None
        return reached or (confirmed and self.occasion.kind == ReminderKind.APPOINTMENT)


_TESTS = {ReminderKind.PATCH_DUE, ReminderKind.READING_DUE}


def call_list(*, salon: Salon, at: dt.datetime) -> list[CallLine]:
    """Return today's calls, those still to be made first.

    Who prefers the phone, has no e-mail address or whose mail failed, as their reminders come
    due; and everyone who must come in for a test, whatever else they get.
    """
    _start, end = day_bounds(salon=salon, day=today(salon=salon, at=at))
    failed = set(
        Reminder.objects.filter(salon=salon, status=ReminderStatus.FAILED).values_list(
            "key", flat=True
        )
    )
    due = []
    for occasion in due_before(salon=salon, at=at, end=end):
        why = _why(occasion, failed)
        if why:
            due.append((occasion, why))
    calls: dict[str, list[ClientCall]] = defaultdict(list)
    rows = ClientCall.objects.filter(
        salon=salon, key__in=[occasion.key for occasion, _why_ in due]
    )
    for call in rows.select_related("recorded_by"):
        calls[call.key].append(call)
    booked = _appointments(salon, [occasion for occasion, _why_ in due])
    lines = [
        CallLine(
            occasion, why, phone_script(occasion), booked.get(occasion.key), calls[occasion.key]
        )
        for occasion, why in due
    ]
    return sorted(lines, key=lambda line: (line.is_done, line.occasion.at))


def due_before(*, salon: Salon, at: dt.datetime, end: dt.datetime) -> list[Occasion]:
    """Return the occasions whose reminder is due before a moment and not too late yet."""
    templates = {k: reminder_texts.template_of(salon, k) for k in ReminderKind.values}
    found = []
    for occasion in occasions.find_occasions(salon=salon, at=at):
        template = templates[occasion.kind]
        due = occasion.at - dt.timedelta(hours=template.hours_before)
        if template.is_on and due < end and occasion.expires_at >= at:
            found.append(occasion)
    return found


def _why(occasion: Occasion, failed: set[str]) -> str:
    if occasion.client.contact_by == ContactBy.NOTHING and occasion.kind not in _TESTS:
        return ""
    if occasion.kind == ReminderKind.PATCH_DUE:
        return _("needs a patch test")
    if occasion.client.contact_by == ContactBy.PHONE:
        return _("prefers a call")
    if occasion.key in failed:
        return _("the e-mail could not be sent")
    return "" if occasion.client.email else _("no e-mail address")


def phone_script(occasion: Occasion) -> str:
    """Return what to say on the phone."""
    sentence = {
        ReminderKind.APPOINTMENT: _(
            "“You have an appointment on %(when)s: %(service)s with %(stylist)s. Does that "
            "still suit you?”"
        ),
        ReminderKind.PATCH_DUE: _(
            "“Before your appointment on %(when)s we need to place a short skin test, by "
            "%(until)s at the latest. It takes ten minutes. When can you come?”"
        ),
        ReminderKind.READING_DUE: _(
            "“Your skin test can be read from %(when)s. Has your skin reacted in any way? "
            "Please come in for a minute.”"
        ),
        ReminderKind.RETONE_DUE: _(
            "“Your next toner is usually due around %(when)s. May we book a time for you?”"
        ),
    }[ReminderKind(occasion.kind)]
    return sentence % defaultdict(str, occasion.values)


def _appointments(salon: Salon, found: list[Occasion]) -> dict[str, Appointment]:
    """Return the appointment of each occasion that is about one, by the occasion's key."""
    about = {ReminderKind.APPOINTMENT, ReminderKind.PATCH_DUE}
    ids = {
        occasion.key: int(occasion.key.split(":")[1])
        for occasion in found
        if occasion.kind in about
    }
    rows = Appointment.objects.for_salon(salon).for_show().in_bulk(set(ids.values()))
    return {key: rows[pk] for key, pk in ids.items() if pk in rows}
