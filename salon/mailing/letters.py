"""Letters: a mail that a task sends, tries again where it cannot have left, and never twice."""

import datetime as dt
import logging
from collections.abc import Callable
from dataclasses import dataclass

from django.core.mail import EmailMessage
from django.db import transaction
from django.utils import timezone
from django_tasks import task

from salon.mailing import pauses
from salon.mailing.outcome import Outcome, hand_over
from salon.models import Letter, LetterState, Salon, Staff

log = logging.getLogger(__name__)


class NotWritten(Exception):
    """Raised by what writes a letter, with the code of why it never can."""


@dataclass(frozen=True)
class Kind:
    """How a kind of letter is written, and who wants to know how it ended."""

    write: Callable[[Letter], EmailMessage | None]  # None where it is no longer needed
    ended: Callable[[Letter], None] = lambda letter: None


_kinds: dict[str, Kind] = {}


def add_kind(name: str, kind: Kind) -> None:
    """Enter a kind of letter."""
    _kinds[name] = kind


@transaction.atomic
def post(
    *,
    kind: str,
    about: int,
    salon: Salon,
    at: dt.datetime,
    within: dt.timedelta,
    reader: Staff | None = None,
) -> Letter:
    """Queue a letter with the change that asks for it: both are kept, or neither."""
    letter = Letter.objects.create(
        kind=kind, about=about, salon=salon, reader=reader, asked_at=at, until=at + within
    )
    send_letter.enqueue(letter.pk)
    return letter


@task()
def send_letter(pk: int) -> None:
    """Send a letter, once: a sender takes it before it is handed over.

    Run again after a worker was killed, it finds the letter taken, and nobody can know whether
    it left. So it is not sent again.
    """
    now = timezone.now()
    waiting = Letter.objects.filter(pk=pk, state=LetterState.WAITING)
    if not waiting.update(state=LetterState.SENDING, taken_at=now):
        _end_if_left(pk)
        return
    letter = Letter.objects.select_related("salon").get(pk=pk)
    letter.tries += 1
    _settle(letter, _try(letter, now))


def send_now(letter: Letter) -> Letter:
    """Send a letter where there may be no worker; the queue then finds it sent."""
    send_letter.call(letter.pk)
    letter.refresh_from_db()
    return letter


def _try(letter: Letter, now: dt.datetime) -> Outcome:
    """Write a letter and hand it over; one that cannot be written has not left."""
    try:
        message = _kinds[letter.kind].write(letter)
    except NotWritten as error:
        return Outcome(LetterState.REFUSED, str(error))
    except Exception:
        log.exception("letter %s could not be written", letter.pk)
        return Outcome(LetterState.WAITING, "fault")
    if message is None:
        return Outcome(LetterState.DROPPED)
    if letter.until < now:
        return Outcome(LetterState.REFUSED, letter.reason or "expired")
    return hand_over(message)


def _end_if_left(pk: int) -> None:
    letter = Letter.objects.select_related("salon").get(pk=pk)
    if letter.state == LetterState.SENDING:
        _settle(letter, Outcome(LetterState.PERHAPS, "worker"))


@transaction.atomic
def _settle(letter: Letter, outcome: Outcome) -> None:
    """Keep what came of a try; where it may be repeated, queue the next one."""
    now = timezone.now()
    letter.state, letter.reason = outcome.state, outcome.reason
    letter.reply_code = outcome.reply_code
    pause = pauses.after(letter.tries)
    if outcome.state == LetterState.WAITING:
        letter.taken_at = None
        if now + pause > letter.until:
            letter.state = LetterState.REFUSED
    if letter.state != LetterState.WAITING:
        letter.ended_at = now
    in_hand = Letter.objects.filter(pk=letter.pk, state=LetterState.SENDING)
    if not in_hand.update(
        state=letter.state,
        tries=letter.tries,
        reason=letter.reason,
        reply_code=letter.reply_code,
        taken_at=letter.taken_at,
        ended_at=letter.ended_at,
    ):
        return  # somebody else has settled it since
    if letter.state == LetterState.WAITING:
        again(letter.pk, at=now + pause)
    else:
        _kinds[letter.kind].ended(letter)


def again(pk: int, *, at: dt.datetime) -> None:
    """Queue the next try."""
    if send_letter.get_backend().supports_defer:
        send_letter.using(run_after=at).enqueue(pk)
