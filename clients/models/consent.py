"""Consents that clients gave and withdrew."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from clients.sealed.fields import SealedTextField
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class ConsentKind(models.TextChoices):
    """What a client agrees to."""

    HEALTH_RECORD = "health_record", _("keeping patch tests, allergies and answers")
    PHOTOS = "photos", _("photos of the hair")
    REMINDERS = "reminders", _("reminders")
    CARD_MAIL = "card_mail", _("visit cards by e-mail")
    RECORD_MOVE = "record_move", _("a copy of the record for another salon")


# Asked for without a page of their own.
PLAIN_KINDS = tuple(kind for kind in ConsentKind if kind != ConsentKind.RECORD_MOVE)


class Consent(AppendOnlyModel):
    """A consent given or withdrawn, with the words it was given to; the latest row counts."""

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="consents")
    kind = models.CharField(max_length=20, choices=ConsentKind.choices)
    wording = models.CharField(max_length=1000)
    is_given = models.BooleanField()
    # Who agreed for a client under age.
    guardian = SealedTextField(of="client", is_kept=True, max_length=120, blank=True)
    # Where it was signed: the name, and the strokes if it is drawn.
    signed_name = SealedTextField(of="client", is_kept=True, max_length=120, blank=True)
    strokes = SealedTextField(of="client", is_kept=True, blank=True)
    recorded_at = models.DateTimeField()
    # Nobody where the client withdrew it themselves, by the link in a mail.
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-recorded_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(recorded_by__isnull=False) | Q(is_given=False, kind="reminders"),
                name="consent_recorded_by_someone",
            ),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.client.salon

    def __str__(self) -> str:
        return f"{self.kind} {self.is_given}"
