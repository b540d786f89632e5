"""Files that the worker makes for somebody."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from salon.models.salon import Salon


class FileState(models.TextChoices):
    """What became of a file that somebody asked for."""

    WAITING = "waiting", _("waiting")
    RUNNING = "running", _("being prepared")
    DONE = "done", _("ready")
    FAILED = "failed", _("failed")
    CANCELLED = "cancelled", _("cancelled")
    EXPIRED = "expired", _("deleted")


OPEN_FILE = (FileState.WAITING, FileState.RUNNING)


class PreparedFile(models.Model):
    """A file that the worker makes for one person, who fetches it within a day."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="+")
    requested_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    requested_at = models.DateTimeField()
    kind = models.CharField(max_length=30)
    arguments = models.JSONField(default=dict)
    # Of kind and arguments: asked for twice while it is open, it is one file.
    digest = models.CharField(max_length=64)
    language = models.CharField(max_length=10)
    state = models.CharField(max_length=9, choices=FileState.choices, default=FileState.WAITING)
    rows_done = models.PositiveIntegerField(default=0)
    rows_expected = models.PositiveIntegerField(default=0)
    # Counted up by each worker that begins it: one whose turn is over keeps nothing.
    turn = models.PositiveIntegerField(default=0)
    task = models.CharField(max_length=36, blank=True)  # the queue's number
    fault = models.CharField(max_length=12, blank=True)  # a code of salon.files.reasons
    ended_at = models.DateTimeField(null=True)
    expires_at = models.DateTimeField(null=True)
    # Under which name it is stored, and how large it is without the encryption.
    stored = models.CharField(max_length=120, blank=True)
    size = models.PositiveBigIntegerField(default=0)
    fetched_at = models.DateTimeField(null=True)  # the last time

    class Meta:
        ordering = ["-requested_at", "-pk"]
        indexes = [
            models.Index(fields=["requested_by", "-requested_at"], name="file_by_reader"),
            models.Index(fields=["state", "expires_at"], name="file_by_state"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=FileState.values), name="file_state_known"
            ),
            models.CheckConstraint(
                condition=~Q(state="done") | Q(stored__gt="", expires_at__isnull=False),
                name="file_done_is_stored",
            ),
            models.UniqueConstraint(
                fields=["requested_by", "digest"],
                condition=Q(state__in=OPEN_FILE),
                name="file_open_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.pk}"

    @property
    def is_open(self) -> bool:
        """Whether it is still to be made."""
        return self.state in OPEN_FILE
