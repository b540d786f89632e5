"""Changes of a client's birth date."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from clients.sealed.fields import SealedTextField
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class BirthDateChange(AppendOnlyModel):
    """A birth date that was changed: how old the client was before, and why."""

    client = models.ForeignKey(
        Client, on_delete=models.PROTECT, related_name="birth_date_changes"
    )
    age_before = models.SmallIntegerField()
    is_year_changed = models.BooleanField()
    reason = SealedTextField(_("reason"), of="client", max_length=200, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["recorded_at", "pk"]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.client.salon

    def __str__(self) -> str:
        return f"{self.client_id} {self.recorded_at:%Y-%m-%d}"
