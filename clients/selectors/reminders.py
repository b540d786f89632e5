"""The queue of reminders as the desk sees it."""

import datetime as dt
from collections import Counter
from dataclasses import dataclass

from django.db.models import Max, QuerySet
from django.utils import timezone
from django.utils.translation import gettext, gettext_noop

from clients.diary.opening import day_bounds
from clients.messages import occasions, reminder_texts
from clients.messages.channels import channel
from clients.messages.reminder_rules import agreed, may_end, rendered, why_not
from clients.models import Client, Reminder, ReminderKind, ReminderStatus, ReminderTemplate
from clients.selectors.call_list import due_before
from clients.selectors.desk import is_quiet
from salon.mailing.status import LATELY, Queue
from salon.models import Salon
from salon.reading_once import reading_once

_BETWEEN = dt.timedelta(minutes=10)
_MOST = 50


@dataclass(frozen=True)
class Preview:
    """A message as it would leave, or why it would not."""

    reminder: Reminder
    subject: str
    body: str
    why_not: str


@dataclass(frozen=True)
class Coming:
    """A message that will be queued soon, as it would leave."""

    client: Client
    kind: str
    subject: str
    body: str
    why_not: str


def queue(*, salon: Salon) -> QuerySet[Reminder]:
    """Return what waits to be sent."""
    return _of(salon).filter(status=ReminderStatus.QUEUED)[:_MOST]


def mail_queue(salon: Salon) -> Queue:
    """Return the state of the salon's reminders, for the page about mail."""
    now = timezone.now()
    rows = Reminder.objects.filter(salon=salon)
    waiting = rows.filter(status=ReminderStatus.QUEUED, due_at__lte=now)
    reasons = set(waiting.exclude(why="").order_by().values_list("why", flat=True))
    if waiting.exists() and is_quiet(salon=salon, at=now):
        reasons.add(gettext_noop("no messages are sent in the quiet hours"))
    failed = rows.filter(status=ReminderStatus.FAILED, taken_at__gt=now - LATELY)
    in_hand = rows.filter(status=ReminderStatus.SENDING)
    return Queue(
        last_sent_at=rows.aggregate(at=Max("sent_at"))["at"],
        waiting=waiting.count() + in_hand.filter(taken_at__gte=now - _BETWEEN).count(),
        why_waiting=list(reasons),
        refused=Counter(failed.values_list("why", flat=True)),
        perhaps=in_hand.filter(taken_at__lt=now - _BETWEEN).count(),
    )


def unsettled(*, salon: Salon, at: dt.datetime) -> list[Reminder]:
    """Return what failed, and what a sender took and never finished."""
    rows = _of(salon).filter(status__in=[ReminderStatus.FAILED, ReminderStatus.SENDING])
    return [
        row
        for row in rows[:_MOST]
        if row.status == ReminderStatus.FAILED
        or (row.taken_at is not None and row.taken_at < at - _BETWEEN)
    ]


def lately(*, salon: Salon) -> QuerySet[Reminder]:
    """Return what was sent or dropped, latest first."""
    ended = [ReminderStatus.SENT, ReminderStatus.DROPPED]
    return _of(salon).filter(status__in=ended).order_by("-due_at", "-pk")[:20]


def preview(*, reminder: Reminder, at: dt.datetime) -> Preview:
    """Return a reminder as it would be sent now."""
    found = occasions.find_occasions(salon=reminder.salon, at=at)
    occasion = next((candidate for candidate in found if candidate.key == reminder.key), None)
    if occasion is None:
        return Preview(reminder, "", "", "–")
    subject, body = rendered(reminder.salon, occasion)
    way = channel()
    written = way.written(client=reminder.client, body=body, may_end=may_end(reminder.kind))
    why = why_not(reminder.client, reminder.kind, way)
    return Preview(reminder, subject, written, gettext(why) if why else "")


@reading_once()
def coming(*, salon: Salon, at: dt.datetime) -> list[Coming]:
    """Return what goes out until the end of tomorrow and is not in the queue yet."""
    local = at.astimezone(salon.zone).date()
    _start, end = day_bounds(salon=salon, day=local + dt.timedelta(days=1))
    due = due_before(salon=salon, at=at, end=end)
    known = set(
        Reminder.objects.filter(
            salon=salon, key__in=[occasion.key for occasion in due]
        ).values_list("key", flat=True)
    )
    way = channel()
    fresh = [occasion for occasion in due if occasion.key not in known]
    answers = agreed(occasion.client for occasion in fresh)
    found = []
    for occasion in fresh:
        occasion.client.salon = salon
        subject, body = rendered(salon, occasion)
        why = why_not(occasion.client, occasion.kind, way, known=answers)
        written = way.written(client=occasion.client, body=body, may_end=may_end(occasion.kind))
        kind = str(ReminderKind(occasion.kind).label)
        found.append(
            Coming(occasion.client, kind, subject, written, gettext(why) if why else "")
        )
    return found


def templates(*, salon: Salon) -> list[ReminderTemplate]:
    """Return the words of every kind."""
    return [reminder_texts.template_of(salon, kind) for kind in ReminderKind.values]


def _of(salon: Salon) -> QuerySet[Reminder]:
    return Reminder.objects.filter(salon=salon).select_related("client", "salon")
