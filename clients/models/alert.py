from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from formulas.models import ProductLine
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class AlertKind(models.TextChoices):
    """What an alert warns of."""

    ALLERGY = "allergy", _("allergy")
    REACTION = "reaction", _("reaction")
    MEDICAL = "medical", _("medical note")
    OTHER = "other", _("note")


class ClientAlert(AppendOnlyModel):
    """Something everyone must see before touching the client; lifted by a later row."""

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="alerts")
    kind = models.CharField(_("kind"), max_length=10, choices=AlertKind.choices)
    text = models.CharField(_("details"), max_length=200)
    # Of a reaction while colour was on: the line that is blocked for this client from then on.
    line = models.ForeignKey(
        ProductLine, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    lifts = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="lifted_by"
    )
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-recorded_at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(text=""), name="alert_says_something"),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.client.salon

    def __str__(self) -> str:
        return self.text
