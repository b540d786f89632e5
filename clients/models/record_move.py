"""That a client agreed to a copy of the record for another salon."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from clients.models.consent import Consent
from clients.models.received_record import ReceivedRecord
from salon.models import Salon


class MoveState(models.TextChoices):
    """What became of a client's wish to have the record in another salon too."""

    WAITING = "waiting", _("waits for the other salon")
    RECEIVED = "received", _("taken over")
    WITHDRAWN = "withdrawn", _("withdrawn by the client")
    REFUSED = "refused", _("declined by the other salon")
    ENDED = "ended", _("ended: the data were erased")


class RecordMove(models.Model):
    """That a client agreed to another salon of the same owner having a copy of the record.

    `salon` is the one that gives it, and whose record this row is. Nothing is copied before
    the other one accepts. `entries` are the entries of the register that the client agreed
    for: a merge since then is another record.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="+")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="moves")
    to_salon = models.ForeignKey(
        Salon, on_delete=models.PROTECT, related_name="+", verbose_name=_("to the salon")
    )
    consent = models.OneToOneField(Consent, on_delete=models.PROTECT, related_name="move")
    has_photos = models.BooleanField(_("with the photos"), default=False)
    entries = models.JSONField(default=list)
    state = models.CharField(max_length=9, choices=MoveState.choices, default=MoveState.WAITING)
    signed_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    settled_at = models.DateTimeField(null=True, blank=True)
    # Since when the client no longer agrees; a copy that was made stays until it is deleted.
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    received = models.OneToOneField(
        ReceivedRecord, on_delete=models.PROTECT, null=True, blank=True, related_name="move"
    )

    class Meta:
        ordering = ["-signed_at", "-pk"]
        indexes = [
            models.Index(
                fields=["to_salon"],
                condition=Q(state="waiting"),
                name="record_move_to_receive",
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=MoveState.values), name="record_move_state_known"
            ),
            models.CheckConstraint(
                condition=~Q(salon=F("to_salon")), name="record_move_to_another_salon"
            ),
            models.CheckConstraint(
                condition=Q(state="waiting", settled_at__isnull=True)
                | ~Q(state="waiting") & Q(settled_at__isnull=False),
                name="record_move_settled_when_it_says_so",
            ),
            models.CheckConstraint(
                condition=Q(received__isnull=True) | Q(state="received"),
                name="record_move_copied_only_when_received",
            ),
            models.UniqueConstraint(
                fields=["client", "to_salon"],
                condition=Q(state="waiting"),
                name="record_move_waits_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.client_id} to {self.to_salon_id}: {self.state}"
