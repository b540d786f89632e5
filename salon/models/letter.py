"""Mails on their way out."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from salon.mailing.reasons import REASONS
from salon.models.salon import Salon


class LetterState(models.TextChoices):
    """What became of a mail; SENDING means that a sender has it in hand."""

    WAITING = "waiting", _("waiting")
    SENDING = "sending", _("being sent")
    SENT = "sent", _("sent")
    REFUSED = "refused", _("refused")
    PERHAPS = "perhaps", _("perhaps sent")
    DROPPED = "dropped", _("no longer needed")


class Letter(models.Model):
    """A mail on its way out: names by number what it is about; its words are written late."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=12)
    about = models.PositiveBigIntegerField()  # the number of what it is about
    # Whom of the team it goes to, where what it is about goes to several.
    reader = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    state = models.CharField(
        max_length=8, choices=LetterState.choices, default=LetterState.WAITING
    )
    tries = models.PositiveSmallIntegerField(default=0)
    # A code of salon.mailing.reasons.REASONS and the server's own number; never its words,
    # which may name the address.
    reason = models.CharField(max_length=12, blank=True)
    reply_code = models.PositiveSmallIntegerField(null=True)
    asked_at = models.DateTimeField()
    until = models.DateTimeField()  # later it is of no use
    taken_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-pk"]
        indexes = [
            models.Index(fields=["salon", "state"], name="letter_by_state"),
            models.Index(fields=["kind", "about"], name="letter_about"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=LetterState.values), name="letter_state_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.about}"

    @property
    def is_open(self) -> bool:
        """Whether it may still leave."""
        return self.state in {LetterState.WAITING, LetterState.SENDING}

    @property
    def reason_text(self) -> str:
        """Why it has not left, in the reader's language."""
        return gettext(REASONS[self.reason]) if self.reason else ""
