"""Writes of the reminders' queue.

Each reminder is queued once (a unique key) and sent at most once. A sender takes it in a
transaction of its own before it hands it over; one that is killed in between leaves it
taken, and no other sender touches it. Whether such a message went out nobody can know: the
desk is shown it and decides.
"""

import datetime as dt
from collections import Counter

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from clients.messages import occasions, reminder_texts
from clients.messages.channels import Channel
from clients.messages.reminder_rules import may_end, rendered, why_not
from clients.models import (
    Reminder,
    ReminderKind,
    ReminderStatus,
    ReminderTemplate,
)
from clients.policies import check_can_work_at_desk
from clients.selectors.desk import is_quiet
from salon import audit
from salon.mailing import outcome, pauses
from salon.mailing.reasons import REASONS
from salon.models import LetterState, Salon, Staff
from salon.policies import require_owner
from salon.refusals import Refused


class NotWaitingToBeSent(Refused):
    """Raised where a reminder is not in a state that allows what is asked."""


@transaction.atomic
def queue_reminders(*, salon: Salon, at: dt.datetime) -> int:
    """Queue what has come up since the last time; return how many."""
    templates = {k: reminder_texts.template_of(salon, k) for k in ReminderKind.values}
    fresh = []
    found = occasions.find_occasions(salon=salon, at=at)
    known = set(
        Reminder.objects.filter(
            salon=salon, key__in=[occasion.key for occasion in found]
        ).values_list("key", flat=True)
    )
    for occasion in found:
        template = templates[occasion.kind]
        due = occasion.at - dt.timedelta(hours=template.hours_before)
        if not template.is_on or occasion.key in known or due > at:
            continue
        fresh.append(
            Reminder(
                salon=salon,
                client=occasion.client,
                kind=occasion.kind,
                key=occasion.key,
                due_at=due,
                expires_at=occasion.expires_at,
                queued_at=at,
            )
        )
    Reminder.objects.bulk_create(fresh, ignore_conflicts=True)
    if fresh:
        audit.record_event(
            "reminders queued", target=salon, by=None, at=at, salon=salon, count=len(fresh)
        )
    return len(fresh)


def send_reminders(*, salon: Salon, at: dt.datetime, channel: Channel) -> Counter[str]:
    """Send what is queued, outside the quiet hours; return how many by outcome.

    An address that the server takes no mail for now waits by itself; where the server takes
    none at all, all that is due waits with the one that was tried.
    """
    outcomes: Counter[str] = Counter()
    if is_quiet(salon=salon, at=at):
        return outcomes
    current = {o.key: o for o in occasions.find_occasions(salon=salon, at=at)}
    for reminder in _due(salon, at).select_related("client", "salon"):
        if not _take(reminder, at):
            continue
        status, found = _send(reminder, current.get(reminder.key), at, channel)
        outcomes[status] += 1
        if found and found.is_of_server:
            _due(salon, at).update(**_waiting(reminder, found, at))
            break
    return outcomes


def _due(salon: Salon, at: dt.datetime) -> QuerySet[Reminder]:
    return Reminder.objects.filter(
        Q(next_try_at=None) | Q(next_try_at__lte=at),
        salon=salon,
        status=ReminderStatus.QUEUED,
        due_at__lte=at,
    )


def _take(reminder: Reminder, at: dt.datetime) -> bool:
    """Take a reminder for this sender alone; committed before anything is sent."""
    taken = Reminder.objects.filter(pk=reminder.pk, status=ReminderStatus.QUEUED).update(
        status=ReminderStatus.SENDING, taken_at=at
    )
    return bool(taken)


def _send(
    reminder: Reminder, occasion: occasions.Occasion | None, at: dt.datetime, channel: Channel
) -> tuple[str, outcome.Outcome | None]:
    """Send a reminder; return its status, and what kept the mail from leaving if it did not."""
    if reminder.expires_at < at and reminder.tries:  # its reason is that of the last try
        return _end(reminder, ReminderStatus.FAILED), None
    why = (
        gettext_noop("no longer needed") if occasion is None or reminder.expires_at < at else ""
    )
    why = why or why_not(reminder.client, reminder.kind, channel)
    if why or occasion is None:
        return _end(reminder, ReminderStatus.DROPPED, why=why), None
    subject, body = rendered(reminder.salon, occasion)
    try:
        channel.send(
            client=reminder.client,
            subject=subject,
            body=body,
            key=reminder.key,
            may_end=may_end(reminder.kind),
        )
    except (OSError, ValueError) as error:
        found = outcome.of_error(error)
        return _not_sent(reminder, found, at), found
    return _end(reminder, ReminderStatus.SENT, sent_at=at, why=""), None


def _not_sent(reminder: Reminder, found: outcome.Outcome, at: dt.datetime) -> str:
    """Keep why a reminder did not leave, or that nobody knows whether it did."""
    if found.state == LetterState.WAITING:
        waiting = _waiting(reminder, found, at)
        return _end(reminder, ReminderStatus.QUEUED, taken_at=None, **waiting)
    # In doubt it stays as after a killed sender: the desk decides.
    is_in_doubt = found.state == LetterState.PERHAPS
    status = ReminderStatus.SENDING if is_in_doubt else ReminderStatus.FAILED
    return _end(reminder, status, why=REASONS[found.reason])


def _waiting(
    reminder: Reminder, found: outcome.Outcome, at: dt.datetime
) -> dict[str, int | dt.datetime | str]:
    """Return what is kept of a try that may be repeated: each pause is longer."""
    tries = reminder.tries + 1
    return {
        "tries": tries,
        "next_try_at": at + pauses.after(tries),
        "why": REASONS[found.reason],
    }


def _end(reminder: Reminder, status: str, **fields: object) -> str:
    Reminder.objects.filter(pk=reminder.pk).update(status=status, **fields)
    return status


@transaction.atomic
def settle_reminder(
    *, reminder: Reminder, send_again: bool, by: Staff, at: dt.datetime
) -> Reminder:
    """Decide about one that failed or was left between: queue it again, or leave it."""
    check_can_work_at_desk(reminder, by=by)
    open_ones = [ReminderStatus.FAILED, ReminderStatus.SENDING]
    fields = (
        {
            "status": ReminderStatus.QUEUED,
            "taken_at": None,
            "tries": 0,
            "next_try_at": None,
            "why": "",
        }
        if send_again
        else {"status": ReminderStatus.DROPPED, "why": gettext_noop("cancelled by the desk")}
    )
    settled = Reminder.objects.filter(pk=reminder.pk, status__in=open_ones).update(**fields)
    if not settled:
        raise NotWaitingToBeSent(_("This reminder has already been dealt with."))
    audit.record_event("reminder settled", target=reminder, by=by, at=at, again=send_again)
    reminder.refresh_from_db()
    return reminder


@transaction.atomic
def change_template(
    *, kind: str, by: Staff, at: dt.datetime, **fields: object
) -> ReminderTemplate:
    """Put the salon's own words in place of the built-in ones."""
    require_owner(by=by)
    template = reminder_texts.template_of(by.salon, kind)
    for name, value in fields.items():
        setattr(template, name, value)
    unknown = reminder_texts.unknown_fields(template.subject + template.body)
    if unknown:
        raise ValidationError(_("Unknown: %(names)s") % {"names": ", ".join(unknown)})
    template.full_clean()
    template.save()
    audit.record_event("reminder words changed", target=template, by=by, at=at, words=kind)
    return template
