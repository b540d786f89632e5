"""How mail stands, for the owner."""

import datetime as dt
from collections import Counter
from dataclasses import dataclass

from django.db import models
from django.utils import timezone
from django.utils.translation import gettext

from salon import mail
from salon.mailing.reasons import REASONS
from salon.models import Letter, LetterState, Salon

LATELY = dt.timedelta(days=7)


@dataclass(frozen=True)
class MailStatus:
    """When a mail last left, and what waits or did not leave, with reasons in words."""

    last_sent_at: dt.datetime | None
    waiting: int
    why_waiting: list[str]
    refused: list[tuple[str, int]]  # within the last seven days
    perhaps: int
    has_server: bool


def mail_status(*, salon: Salon) -> MailStatus:
    """Return how a salon's mail stands."""
    letters = Letter.objects.filter(salon=salon)
    waiting = letters.filter(state__in=[LetterState.WAITING, LetterState.SENDING])
    lately = letters.filter(ended_at__gt=timezone.now() - LATELY)
    refused = Counter(lately.filter(state=LetterState.REFUSED).values_list("reason", flat=True))
    last = letters.filter(state=LetterState.SENT).order_by("-ended_at").first()
    return MailStatus(
        last_sent_at=last.ended_at if last else None,
        waiting=waiting.count(),
        why_waiting=[words_of(reason) for reason in sorted(set(_reasons(waiting)))],
        refused=[(words_of(reason), count) for reason, count in sorted(refused.items())],
        perhaps=lately.filter(state=LetterState.PERHAPS).count(),
        has_server=not mail.has_no_server(),
    )


def last_test(*, salon: Salon) -> Letter | None:
    """Return the newest test mail."""
    return Letter.objects.filter(salon=salon, kind="test").first()


def words_of(reason: str) -> str:
    """Return a reason in the reader's language."""
    return gettext(REASONS.get(reason, reason))


def _reasons(letters: models.QuerySet[Letter]) -> list[str]:
    found = letters.exclude(reason="").order_by().values_list("reason", flat=True)
    return list(found.distinct())
