"""Photos of the hair and their deletions; the pictures are stored as files."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from clients.models.appointment import Appointment
from clients.models.client import Client
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class Moment(models.TextChoices):
    """When in the service a photo was taken."""

    BEFORE = "before", _("Before")
    AFTER = "after", _("After")


class Part(models.TextChoices):
    """What of the hair a photo shows."""

    WHOLE = "whole", _("all of it")
    ROOTS = "roots", _("roots")
    LENGTHS = "mid_lengths", _("lengths")
    ENDS = "ends", _("ends")


class RemovalReason(models.TextChoices):
    """Why a photo was deleted."""

    BLURRED = "blurred", _("blurred or badly lit")
    MISTAKE = "mistake", _("taken by mistake")
    WRONG_PERSON = "wrong_person", _("shows someone else")
    REQUESTED = "asked", _("at the client's request")
    WITHDRAWN = "withdrawn", _("consent withdrawn")
    ERASED = "erased", _("all data erased")
    OLD = "old", _("kept as long as the rules say")


class Photo(AppendOnlyModel):
    """That a photo of someone's hair was taken; the picture itself is in `photo_store`.

    It belongs to the appointment, which the desk and the bench both know. `key` names the
    file: random, so that an address cannot be guessed and says nothing of the person.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="+")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="photos")
    appointment = models.ForeignKey(
        Appointment, on_delete=models.PROTECT, related_name="photos"
    )
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    moment = models.CharField(max_length=8, choices=Moment.choices)
    part = models.CharField(max_length=12, choices=Part.choices, default=Part.WHOLE)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    digest = models.CharField(max_length=64)
    taken_at = models.DateTimeField()
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["taken_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(moment__in=Moment.values, part__in=Part.values),
                name="photo_known_words",
            ),
            models.CheckConstraint(
                condition=Q(width__gt=0, height__gt=0), name="photo_has_a_size"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.appointment_id} {self.moment} {self.taken_at:%Y-%m-%d}"

    @property
    def label(self) -> str:
        """What it shows and when, for those who cannot see it."""
        when = date_format(timezone.localtime(self.taken_at), "MONTH_DAY_FORMAT")
        return f"{self.get_moment_display()}, {self.get_part_display()}, {when}"


class PhotoRemoval(AppendOnlyModel):
    """That a photo was deleted, by whom, when and why; the row of the photo stays."""

    photo = models.OneToOneField(Photo, on_delete=models.PROTECT, related_name="removal")
    reason = models.CharField(max_length=12, choices=RemovalReason.choices)
    removed_at = models.DateTimeField()
    # Nobody where the product itself did it, as the rules say.
    removed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["removed_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(reason__in=RemovalReason.values), name="photo_removal_known_words"
            ),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.photo.salon

    def __str__(self) -> str:
        return f"{self.photo_id} {self.reason}"
