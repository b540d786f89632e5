"""Strengths of shades that an owner accepted from results."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from formulas.models.line import ProductLine
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class StrengthRevision(AppendOnlyModel):
    """Strengths of a line's shades as an owner accepted them, or took them back.

    `strengths` and `earlier` map shades' ids to factors on their own data; `earlier` is what
    stood before, so that it can be taken back.
    """

    line = models.ForeignKey(
        ProductLine, on_delete=models.PROTECT, related_name="strength_revisions"
    )
    number = models.PositiveIntegerField()
    strengths = models.JSONField()
    earlier = models.JSONField()
    # The same of the line's doubts, which set how wide ranges are.
    doubts = models.JSONField(default=dict)
    earlier_doubts = models.JSONField(default=dict)
    results = models.PositiveIntegerField()
    is_taken_back = models.BooleanField(default=False)
    # What predictions missed, root mean square, each client predicted from the others: before,
    # and with these strengths.
    missed_levels = models.FloatField(null=True)
    missed_warmth = models.FloatField(null=True)
    left_out_levels = models.FloatField(null=True)
    left_out_warmth = models.FloatField(null=True)
    engine_version = models.CharField(max_length=40)
    data_version = models.PositiveIntegerField()
    accepted_at = models.DateTimeField()
    accepted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(fields=["line", "number"], name="strengths_number_once"),
            models.CheckConstraint(
                condition=Q(number__gte=1), name="strengths_number_from_one"
            ),
        ]

    @property
    def salon(self) -> Salon:
        """The salon whose record it is."""
        return self.line.salon

    def __str__(self) -> str:
        return f"{self.line_id} strengths {self.number}"
