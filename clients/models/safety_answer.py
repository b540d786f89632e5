"""Answers to the safety questions."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from clients.sealed.fields import SealedTextField
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class Answer(models.TextChoices):
    """What a client says to a safety question."""

    YES = "yes", _("yes")
    NO = "no", _("no")
    SKIPPED = "skipped", _("not answered")


class SafetyAnswer(AppendOnlyModel):
    """One answer to one question of `clients.skin_test.safety`; the latest one counts."""

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="safety_answers")
    question = models.CharField(max_length=40)
    answer = SealedTextField(of="client", is_kept=True, max_length=8, choices=Answer.choices)
    note = SealedTextField(of="client", is_kept=True, max_length=200, blank=True)
    answered_at = models.DateTimeField()
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-answered_at", "-pk"]
        indexes = [
            models.Index(fields=["client", "question", "-answered_at"], name="safety_latest"),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.client.salon

    def __str__(self) -> str:
        return f"{self.question} {self.answer}"
