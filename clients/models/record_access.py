"""Who looked at whose records."""

import datetime as dt

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from salon.append_only import AppendOnlyModel
from salon.models import Salon

# Whoever looks again so soon goes on looking: one row.
SAME_LOOK = dt.timedelta(minutes=10)


class AccessKind(models.TextChoices):
    """What kind of record somebody looked at."""

    CLIENT = "client", _("client’s page")
    HEALTH = "health", _("health")
    PHOTOS = "photos", _("photos")
    VISIT = "visit", _("visit")
    PAPER = "paper", _("paper")
    EXPORT = "export", _("list of all clients")


class RecordAccess(AppendOnlyModel):
    """Who looked at whose records, at what kind and when; nothing of what was in them.

    `target` and `target_id` name the page's record ("visits", 12): who goes on looking at the
    same one within some minutes adds no row.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="accesses")
    staff = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    client = models.ForeignKey(Client, on_delete=models.PROTECT, null=True, related_name="+")
    kind = models.CharField(max_length=10, choices=AccessKind.choices)
    target = models.CharField(max_length=20)
    target_id = models.CharField(max_length=40, blank=True)
    at = models.DateTimeField()

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-at", "-pk"]
        indexes = [
            models.Index(fields=["salon", "-at"], name="access_by_time"),
            models.Index(fields=["staff", "kind", "target", "target_id"], name="access_again"),
        ]

    def __str__(self) -> str:
        return f"{self.staff_id} {self.kind} {self.target} {self.target_id}"
