"""Records that are only stored (GDPR, article 18)."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class RestrictionReason(models.TextChoices):
    """Why a record is only stored (GDPR, article 18 (1) (a) to (d))."""

    ACCURACY = "accuracy", _("The client says that the data are wrong: they are checked")
    UNLAWFUL = "unlawful", _("Kept without a right to; the client wants them shut, not erased")
    CLAIMS = "claims", _("The client needs them for a legal claim")
    OBJECTION = "objection", _("The client objects: it is weighed who is right")


class Restriction(AppendOnlyModel):
    """That a client's record was shut but for storage, or opened again; the latest counts."""

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="restrictions")
    is_on = models.BooleanField()
    reason = models.CharField(max_length=9, choices=RestrictionReason.choices)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["recorded_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(reason__in=RestrictionReason.values), name="restriction_known_words"
            ),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.client.salon

    def __str__(self) -> str:
        return f"{self.client_id} {self.is_on}"
