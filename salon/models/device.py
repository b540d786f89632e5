"""Enrolled devices and how far their screens can be trusted."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from salon.models.salon import Salon

DEVICE_TRIES = 10


class ScreenVerdict(models.TextChoices):
    """How far a screen can be trusted with colour."""

    TRUSTED = "trusted", _("shows colour well enough")
    NIGHT_MODE = "night_mode", _("night mode seems to be on")
    TOO_DIM = "too_dim", _("too dark to judge by")
    UNFIT = "unfit", _("not for judging colour")


class DeviceQuerySet(models.QuerySet["Device"]):
    def in_salon(self, salon: Salon) -> "DeviceQuerySet":
        return self.filter(salon=salon)

    def in_force(self) -> "DeviceQuerySet":
        return self.filter(revoked_at=None)


class Device(models.Model):
    """A tablet or computer that the owner enrolled: only here may people switch by PIN.

    The device holds a random token in a cookie; the salon keeps its hash alone.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="devices")
    name = models.CharField(_("name of the device"), max_length=60)
    token_hash = models.CharField(max_length=64, unique=True)
    enrolled_at = models.DateTimeField()
    enrolled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    last_used_at = models.DateTimeField(null=True, blank=True)
    # Wrong PINs on it, whoever's, since someone last signed in here with a password.
    wrong_pins = models.PositiveSmallIntegerField(default=0)
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    # The verdict of the last check of its screen; earlier ones are in the record of changes.
    screen_verdict = models.CharField(max_length=12, choices=ScreenVerdict.choices, blank=True)
    screen_checked_at = models.DateTimeField(null=True, blank=True)

    objects = DeviceQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="device_has_a_name"),
            models.CheckConstraint(
                condition=Q(wrong_pins__lte=DEVICE_TRIES), name="device_tries_end"
            ),
            models.CheckConstraint(
                condition=Q(revoked_at=None, revoked_by=None)
                | Q(revoked_at__isnull=False, revoked_by__isnull=False),
                name="device_revoked_by_someone",
            ),
            models.CheckConstraint(
                condition=Q(screen_verdict="", screen_checked_at=None)
                | Q(screen_verdict__in=ScreenVerdict.values, screen_checked_at__isnull=False),
                name="device_screen_checked_once",
            ),
        ]

    def __str__(self) -> str:
        return self.name
