"""The copy of a client's record that came from another salon of the same owner."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from clients.sealed.fields import SealedJSONField
from salon.models import Salon


class ReceivedRecord(models.Model):
    """The copy of a client's record that another salon of the same owner made for this one.

    It is read and never worked with: nothing of it counts as this salon's own. `content` is
    what `consult.portability.copies` wrote, closed by the key of the client here, and empty
    once the copy is deleted. `photos` holds key, date and moment of each photo, no words.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="received_records")
    client = models.ForeignKey(
        Client, on_delete=models.PROTECT, related_name="received_records"
    )
    from_salon = models.CharField(_("from the salon"), max_length=120)
    content = SealedJSONField(of="client", default=dict, blank=True)
    photos = models.JSONField(default=list, blank=True)
    # What came with it as the salon's own, so that it warns like anything else.
    alerts = models.JSONField(default=list, blank=True)
    hair_history = models.JSONField(default=list, blank=True)
    received_at = models.DateTimeField()
    received_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    deleted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-received_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(deleted_at__isnull=True) | Q(content=""),
                name="received_record_empty_once_deleted",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.client_id} from {self.from_salon}"
