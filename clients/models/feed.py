"""Secret addresses of stylists' calendars."""

from django.conf import settings
from django.db import models

from salon.models import Salon


class CalendarFeed(models.Model):
    """A secret address at which a stylist's calendar may be read; only its hash is kept."""

    stylist = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="calendar_feeds"
    )
    token_hash = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-created_at", "-pk"]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.stylist.salon

    def __str__(self) -> str:
        return f"{self.stylist_id} {self.created_at:%Y-%m-%d}"
