"""Results as they were seen on the dry hair."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from clients.sealed.fields import SealedTextField
from consult.models.visit import Visit
from consult.zones import GROUPS
from salon.append_only import AppendOnlyModel


class Evenness(models.TextChoices):
    """How alike the hair is, from root to tip."""

    EVEN = "even", _("even")
    SLIGHT = "slight", _("slightly uneven")
    UNEVEN = "uneven", _("uneven")


class ClientWord(models.TextChoices):
    """What the client says of it."""

    PLEASED = "pleased", _("pleased")
    FINE = "fine", pgettext_lazy("the client is satisfied", "fine")
    NOT_YET = "not_yet", _("disappointed")


class ResultSeen(AppendOnlyModel):
    """What the dry hair shows, by eye; a second look is a further row.

    Compared with the prediction, so that a level may lie between two half steps.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="results")
    zones = models.CharField(max_length=40)
    # False: nobody looked. It lets the visit be closed, and teaches nothing.
    is_looked_at = models.BooleanField(default=True)
    level = models.DecimalField(
        _("as dark as level, dry"), max_digits=3, decimal_places=1, null=True, blank=True
    )
    warmth_left_percent = models.SmallIntegerField(_("warmth left, %"), null=True, blank=True)
    # What it was compared with: the bowl as poured, for the minutes that it was on.
    predicted = models.JSONField(null=True, blank=True)
    undertone = models.DecimalField(
        _("undertone"), max_digits=3, decimal_places=2, null=True, blank=True
    )
    evenness = models.CharField(
        _("evenness"), max_length=8, choices=Evenness.choices, blank=True
    )
    client_word = models.CharField(
        _("how happy the client is"), max_length=8, choices=ClientWord.choices, blank=True
    )
    note = SealedTextField(_("note"), of="visit.client", max_length=400, blank=True)
    seen_at = models.DateTimeField()
    seen_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=Q(zones__in=GROUPS), name="result_zones_known"),
            models.CheckConstraint(
                condition=Q(level__isnull=True) | Q(level__gte=1, level__lte=10),
                name="result_level_on_the_scale",
            ),
            models.CheckConstraint(
                condition=Q(warmth_left_percent__isnull=True)
                | Q(warmth_left_percent__gte=-50, warmth_left_percent__lte=150),
                name="result_warmth_makes_sense",
            ),
            models.CheckConstraint(
                condition=Q(
                    is_looked_at=True, level__isnull=False, warmth_left_percent__isnull=False
                )
                | Q(is_looked_at=False, level__isnull=True, warmth_left_percent__isnull=True),
                name="result_seen_or_not_looked_at",
            ),
            models.CheckConstraint(
                condition=Q(evenness__in=[*Evenness.values, ""])
                & Q(client_word__in=[*ClientWord.values, ""]),
                name="result_known_words",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.zones} {self.level}"
