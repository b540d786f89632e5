"""Stock of each shade, and every movement of it."""

from decimal import Decimal

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from formulas.models.shade import Shade
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class MovementReason(models.TextChoices):
    """Why stock changed."""

    RECEIVED = "received", _("received")
    MIXED = "mixed", _("mixed")
    COUNTED = "counted", _("corrected by a count")
    DISCARDED = "discarded", _("discarded")


class ShelfBalance(models.Model):
    """What is on the shelf of a shade: the sum of its movements, kept with each of them.

    Below zero where a delivery was not entered: that is shown as "count it".
    """

    shade = models.OneToOneField(
        Shade, on_delete=models.PROTECT, primary_key=True, related_name="balance"
    )
    grams = models.DecimalField(_("grams"), max_digits=10, decimal_places=1, default=Decimal(0))

    @property
    def salon(self) -> Salon:
        """The salon whose shelf it is."""
        return self.shade.salon

    def __str__(self) -> str:
        return f"{self.shade} {self.grams} g"


class StockMovement(AppendOnlyModel):
    """Grams of a shade that came in (positive) or went out (negative).

    It carries the salon of its shade's line (decision 0083): a salon's latest movements are
    found by an index, however many it has and whoever else shares the database.
    """

    salon = models.ForeignKey(
        Salon, on_delete=models.PROTECT, related_name="movements", db_index=False
    )
    shade = models.ForeignKey(Shade, on_delete=models.PROTECT, related_name="movements")
    grams = models.DecimalField(_("grams"), max_digits=8, decimal_places=1)
    reason = models.CharField(_("reason"), max_length=10, choices=MovementReason.choices)
    batch = models.CharField(_("batch"), max_length=40, blank=True)
    expires_on = models.DateField(_("best before"), null=True, blank=True)
    # What a gram cost when it was thrown away; without: none was entered.
    price_per_gram = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True, editable=False
    )
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-recorded_at", "-pk"]
        indexes = [
            models.Index(fields=["salon", "-recorded_at", "-id"], name="movement_by_salon"),
            models.Index(fields=["shade", "-recorded_at"], name="movement_by_shade"),
            models.Index(
                fields=["salon", "expires_on"],
                condition=Q(expires_on__isnull=False),
                name="movement_by_best_before",
            ),
            # The owner's page asks for the few discards of a time among all that was poured.
            models.Index(
                fields=["salon", "recorded_at"],
                condition=Q(reason="discarded"),
                name="movement_discarded",
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=~Q(grams=0), name="stock_movement_moves_something"
            ),
            models.CheckConstraint(
                condition=Q(reason="counted")
                | Q(reason="received", grams__gt=0)
                | Q(reason__in=["mixed", "discarded"], grams__lt=0),
                name="stock_movement_sign_fits_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.shade} {self.grams} g"

    def clean(self) -> None:
        if self.salon_id != self.shade.line.salon_id:
            raise ValidationError(_("This belongs to another salon."), code="other_salon")
