"""The state of mail, for the owner."""

import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext

from salon import mail
from salon.mailing.reasons import REASONS
from salon.models import Letter, LetterState, Salon

LATELY = dt.timedelta(days=7)


@dataclass(frozen=True)
class Queue:
    """The state of mails of one origin; reasons are codes of REASONS, or to be translated."""

    last_sent_at: dt.datetime | None = None
    waiting: int = 0
    why_waiting: list[str] = field(default_factory=list)
    refused: Counter[str] = field(default_factory=Counter)  # within the last seven days
    perhaps: int = 0


@dataclass(frozen=True)
class MailStatus:
    """When a mail last left, and what waits or did not leave, with reasons in words."""

    last_sent_at: dt.datetime | None
    waiting: int
    why_waiting: list[str]
    refused: list[tuple[str, int]]  # within the last seven days
    perhaps: int
    has_server: bool


_queues: list[Callable[[Salon], Queue]] = []


def add_queue(read: Callable[[Salon], Queue]) -> None:
    """Enter the state of mails that an app sends and that are no letters."""
    _queues.append(read)


def mail_status(*, salon: Salon) -> MailStatus:
    """Return the state of a salon's mail of all kinds."""
    queues = [_letters(salon), *(read(salon) for read in _queues)]
    waiting_for = {words_of(reason) for queue in queues for reason in queue.why_waiting}
    refused: Counter[str] = Counter()
    for queue in queues:
        for reason, count in queue.refused.items():
            refused[words_of(reason)] += count
    return MailStatus(
        last_sent_at=max(
            (queue.last_sent_at for queue in queues if queue.last_sent_at), default=None
        ),
        waiting=sum(queue.waiting for queue in queues),
        why_waiting=sorted(waiting_for),
        refused=sorted(refused.items()),
        perhaps=sum(queue.perhaps for queue in queues),
        has_server=not mail.has_no_server(),
    )


def _letters(salon: Salon) -> Queue:
    letters = Letter.objects.filter(salon=salon)
    waiting = letters.filter(state__in=[LetterState.WAITING, LetterState.SENDING])
    lately = letters.filter(ended_at__gt=timezone.now() - LATELY)
    last = letters.filter(state=LetterState.SENT).aggregate(at=models.Max("ended_at"))["at"]
    return Queue(
        last_sent_at=last,
        waiting=waiting.count(),
        why_waiting=_reasons(waiting),
        refused=Counter(
            lately.filter(state=LetterState.REFUSED).values_list("reason", flat=True)
        ),
        perhaps=lately.filter(state=LetterState.PERHAPS).count(),
    )


def last_test(*, salon: Salon) -> Letter | None:
    """Return the newest test mail."""
    return Letter.objects.filter(salon=salon, kind="test").first()


def last_of(kind: str, about: Iterable[int]) -> dict[int, Letter]:
    """Return the newest letter about each of these numbers, where there is one."""
    letters = Letter.objects.filter(kind=kind, about__in=list(about)).order_by("pk")
    return {letter.about: letter for letter in letters}


def words_of(reason: str) -> str:
    """Return a reason in the reader's language."""
    return gettext(REASONS.get(reason, reason) or REASONS["rejected"])


def _reasons(letters: models.QuerySet[Letter]) -> list[str]:
    found = letters.exclude(reason="").order_by().values_list("reason", flat=True)
    return list(found.distinct())
