"""What was done to a client's hair before, here or elsewhere."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from clients.models.client import Client
from clients.sealed.fields import SealedTextField
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class HairWork(models.TextChoices):
    """What was done to hair that colour meets later."""

    COLOUR = "colour", _("salon colour")
    BOX_COLOUR = "box_colour", _("box colour")
    HENNA = "henna", _("henna")
    METALLIC = "metallic", _("metallic salts or colour restorer")
    LIGHTENING = "lightening", _("lightening")
    STRAIGHTENING = "straightening", _("straightening or relaxing")
    PERM = "perm", _("perm")
    OTHER = "other", _("something else")


class Origin(models.TextChoices):
    """Who says so."""

    REPORTED = "told", _("reported by the client")
    OBSERVED = "observed", _("seen on the hair")


class HairHistoryEntry(AppendOnlyModel):
    """Something done to the hair, with when and who says so; withdrawn by a later row."""

    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="hair_history")
    work = models.CharField(_("what"), max_length=14, choices=HairWork.choices)
    origin = models.CharField(_("source"), max_length=8, choices=Origin.choices)
    happened_date = models.DateField(_("when, roughly"))
    note = SealedTextField(_("note"), of="client", max_length=200, blank=True)
    withdraws = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="withdrawn_by"
    )
    recorded_at = models.DateTimeField()
    recorded_date = models.DateField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-happened_date", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(happened_date__lte=F("recorded_date")),
                name="hair_history_not_in_the_future",
            ),
            models.CheckConstraint(
                condition=Q(work__in=HairWork.values, origin__in=Origin.values),
                name="hair_history_known_words",
            ),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.client.salon

    def __str__(self) -> str:
        return f"{self.work} {self.happened_date:%Y-%m}"
