"""The steps of erasing a client's data."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from clients.sealed.fields import SealedTextField
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class ErasureStep(models.TextChoices):
    """How far the erasure of a client's data is."""

    REQUESTED = "requested", _("requested")
    STOPPED = "stopped", _("stopped")
    DONE = "done", _("erased")
    ENDED = "ended", _("what was kept is erased too")


class ErasureReason(models.TextChoices):
    """Why a client's data are erased."""

    IN_PERSON = "in_person", _("The client asked for it here")
    IN_WRITING = "in_writing", _("The client asked for it in writing")
    RETENTION = "retention", _("kept as long as the rules say")


class Erasure(AppendOnlyModel):
    """A step of the erasure of somebody's data; the latest row counts.

    `kept_until` is the day until which what a claim needs stays, closed; empty where nothing
    has to stay. The name is kept with it, under the same key.
    """

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="erasures")
    step = models.CharField(max_length=9, choices=ErasureStep.choices)
    reason = models.CharField(max_length=10, choices=ErasureReason.choices)
    name = SealedTextField(of="client", is_kept=True, max_length=400, blank=True)
    kept_until = models.DateField(null=True, blank=True)
    recorded_at = models.DateTimeField()
    # Nobody where the product itself did it, as the rules say.
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["recorded_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(step__in=ErasureStep.values, reason__in=ErasureReason.values),
                name="erasure_known_words",
            ),
            models.CheckConstraint(
                condition=Q(recorded_by__isnull=False) | Q(step__in=["done", "ended"]),
                name="erasure_requested_by_someone",
            ),
            models.CheckConstraint(
                condition=Q(kept_until__isnull=True) | Q(step="done"),
                name="erasure_keeps_only_when_done",
            ),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.client.salon

    def __str__(self) -> str:
        return f"{self.client_id} {self.step}"
