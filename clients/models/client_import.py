"""Imports of a client list from a file."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from salon.models import Salon


class ImportStatus(models.TextChoices):
    """The status of an import."""

    LOADED = "loaded", _("not imported yet")
    TAKING = "taking", _("importing")
    UNDOING = "undoing", _("undoing")
    DONE = "done", _("imported")
    UNDONE = "undone", _("undone")


class ClientImport(models.Model):
    """A client list brought in from a file: looked at first, then taken in, and undoable."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="client_imports")
    file_name = models.CharField(max_length=120)
    header = models.JSONField(default=list)
    # The rows as read; emptied once they are taken in.
    rows = models.JSONField(default=list)
    mapping = models.JSONField(default=dict)
    # The file itself, to be read again with other letters; emptied with the rows.
    content = models.BinaryField(default=bytes)
    encoding = models.CharField(max_length=20, default="utf-8")
    separator = models.CharField(max_length=1, default=",")
    date_order = models.CharField(max_length=3, blank=True)  # chosen, or seen in the column
    # Number in the file, reason, and the row's cells as they were.
    refused = models.JSONField(default=list)
    row_count = models.PositiveIntegerField(default=0)
    added_count = models.PositiveIntegerField(default=0)
    duplicate_count = models.PositiveIntegerField(default=0)  # left out: clients already
    kept_count = models.PositiveIntegerField(default=0)  # could not be undone: in use since
    position = models.PositiveIntegerField(default=0)  # how many rows have been looked at
    status = models.CharField(
        max_length=8, choices=ImportStatus.choices, default=ImportStatus.LOADED
    )
    loaded_at = models.DateTimeField()
    loaded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-loaded_at", "-pk"]

    def __str__(self) -> str:
        return self.file_name

    @property
    def is_running(self) -> bool:
        """Whether pieces of it are still to be done."""
        return self.status in {ImportStatus.TAKING, ImportStatus.UNDOING}

    @property
    def left_out_count(self) -> int:
        """How many of the rows looked at were not taken in; until it is undone."""
        return self.position - self.added_count

    @property
    def unread_count(self) -> int:
        """How many rows were not looked at."""
        return self.row_count - self.position

    @property
    def was_stopped(self) -> bool:
        """Whether somebody stopped it before its end."""
        return self.status == ImportStatus.DONE and self.position < self.row_count
