"""The waiting list."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from clients.models.appointment import Appointment
from clients.models.client import Client
from clients.models.diary import Service
from formulas.models import ProductLine
from salon.models import Salon


class Waiting(models.TextChoices):
    """What became of a wish on the waiting list."""

    OPEN = "open", _("waiting")
    BOOKED = "booked", _("booked")
    WITHDRAWN = "withdrawn", _("removed")


class WaitingEntry(models.Model):
    """A client who would come if a time became free."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="waiting")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="waiting")
    service = models.ForeignKey(Service, on_delete=models.PROTECT, verbose_name=_("service"))
    line = models.ForeignKey(
        ProductLine,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        verbose_name=_("product line"),
    )
    stylist = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        verbose_name=_("only with"),
    )
    from_date = models.DateField(_("from"))
    until_date = models.DateField(_("until"))
    note = models.CharField(_("note"), max_length=200, blank=True)
    status = models.CharField(max_length=10, choices=Waiting.choices, default=Waiting.OPEN)
    appointment = models.ForeignKey(
        Appointment, on_delete=models.PROTECT, null=True, blank=True, related_name="waited"
    )
    added_at = models.DateTimeField()
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["added_at", "pk"]
        indexes = [models.Index(fields=["salon", "status", "until_date"], name="waiting_open")]
        constraints = [
            models.CheckConstraint(
                condition=Q(until_date__gte=F("from_date")), name="waiting_until_after_from"
            ),
            models.CheckConstraint(
                condition=Q(status="booked", appointment__isnull=False)
                | (~Q(status="booked") & Q(appointment__isnull=True)),
                name="waiting_booked_names_its_appointment",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.client} {self.service}"
