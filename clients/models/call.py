"""Phone calls to clients and what came of them."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.models.appointment import Appointment
from clients.models.client import Client
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class CallReason(models.TextChoices):
    """Why a client is phoned."""

    REMINDER = "reminder", _("reminder")
    TEST = "test", _("patch test")
    AWAY = "away", _("stylist away")


class CallOutcome(models.TextChoices):
    """What came of a call."""

    REACHED = "reached", _("called")
    NO_ANSWER = "no_answer", _("no answer")
    MESSAGE = "message", _("left a message")


class ClientCall(AppendOnlyModel):
    """One call to a client and what came of it; a later call is a row of its own."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="+")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="calls")
    appointment = models.ForeignKey(
        Appointment, on_delete=models.PROTECT, null=True, blank=True, related_name="calls"
    )
    # The occasion, as its reminder names it; empty where an appointment is the reason.
    key = models.CharField(max_length=80, blank=True)
    reason = models.CharField(max_length=10, choices=CallReason.choices)
    outcome = models.CharField(max_length=10, choices=CallOutcome.choices)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["recorded_at", "pk"]
        indexes = [
            models.Index(fields=["salon", "recorded_at"], name="call_by_day"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(outcome__in=CallOutcome.values, reason__in=CallReason.values),
                name="call_outcome_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.client_id} {self.outcome}"
