"""What was left over in a bowl."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from consult.models.bowl import BowlMixed
from salon.append_only import AppendOnlyModel


class BowlLeftover(AppendOnlyModel):
    """What was left in a bowl after it went on the hair: mixed minus used.

    A correction replaces the row before it; a bowl without a row was not asked about.
    """

    bowl = models.ForeignKey(BowlMixed, on_delete=models.PROTECT, related_name="leftovers")
    grams = models.DecimalField(_("left in the bowl, g"), max_digits=6, decimal_places=1)
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by"
    )
    weighed_at = models.DateTimeField()
    weighed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["bowl"],
                condition=Q(replaces__isnull=True),
                name="leftover_of_a_bowl_asked_once",
            ),
            models.CheckConstraint(
                condition=Q(grams__gte=0), name="leftover_grams_not_negative"
            ),
            models.CheckConstraint(
                condition=~Q(replaces=F("id")), name="leftover_does_not_replace_itself"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.bowl_id} left {self.grams} g"
