"""The keys that encrypt a client's words."""

from django.db import models
from django.db.models import Q

from clients.models.client import Client
from clients.sealed.keys import Purpose


class ClientKey(models.Model):
    """A key of one client, wrapped by a key outside of the database; empty once destroyed."""

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="+")
    purpose = models.CharField(max_length=8, choices=Purpose.choices)
    wrapped = models.TextField(blank=True)
    made_at = models.DateTimeField()
    destroyed_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["client", "purpose"], name="client_key_once"),
            models.CheckConstraint(
                condition=Q(purpose__in=Purpose.values), name="client_key_purpose_known"
            ),
            models.CheckConstraint(
                condition=Q(wrapped="", destroyed_at__isnull=False)
                | (~Q(wrapped="") & Q(destroyed_at__isnull=True)),
                name="client_key_is_there_or_destroyed",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.client_id} {self.purpose}"
