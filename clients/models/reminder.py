"""Reminders to clients and the salon's words for them."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from salon.models import Salon


class ReminderKind(models.TextChoices):
    """What a client is reminded of."""

    APPOINTMENT = "appointment", _("appointment")
    PATCH_DUE = "patch_due", _("patch test to be placed")
    READING_DUE = "reading_due", _("patch test to be read")
    RETONE_DUE = "retone_due", _("next toner due")


class ReminderStatus(models.TextChoices):
    """The status of a reminder; SENDING means that a sender has taken it."""

    QUEUED = "queued", _("waiting to be sent")
    SENDING = "sending", _("being sent")
    SENT = "sent", _("sent")
    FAILED = "failed", _("failed")
    DROPPED = "dropped", _("not sent")


class ReminderTemplate(models.Model):
    """The words of one kind of reminder; a kind without a row uses the built-in words."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=12, choices=ReminderKind.choices)
    is_on = models.BooleanField(_("send these messages"), default=True)
    hours_before = models.PositiveSmallIntegerField(_("hours before"), default=48)
    subject = models.CharField(_("subject"), max_length=120)
    body = models.TextField(_("text"), max_length=2000)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["salon", "kind"], name="one_template_a_kind"),
        ]

    def __str__(self) -> str:
        return self.kind


class Reminder(models.Model):
    """One message to one client, queued once for one occasion."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="reminders")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="reminders")
    kind = models.CharField(max_length=12, choices=ReminderKind.choices)
    key = models.CharField(max_length=80)
    due_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    status = models.CharField(
        max_length=8, choices=ReminderStatus.choices, default=ReminderStatus.QUEUED
    )
    why = models.CharField(max_length=120, blank=True)
    queued_at = models.DateTimeField()
    taken_at = models.DateTimeField(null=True)
    # Tries that a mail server did not take; then it waits, longer each time.
    tries = models.PositiveSmallIntegerField(default=0)
    next_try_at = models.DateTimeField(null=True)
    sent_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["due_at", "pk"]
        indexes = [models.Index(fields=["salon", "status", "due_at"], name="reminder_due")]
        constraints = [
            models.UniqueConstraint(fields=["salon", "key"], name="reminder_once"),
            models.CheckConstraint(
                condition=Q(status__in=ReminderStatus.values), name="reminder_status_known"
            ),
            models.CheckConstraint(
                condition=~Q(status="sent") | Q(sent_at__isnull=False),
                name="reminder_sent_has_a_time",
            ),
        ]

    def __str__(self) -> str:
        return self.key

    @property
    def reason_text(self) -> str:
        """Why it was not sent, in the reader's language."""
        return gettext(self.why) if self.why else ""
