"""What each run of the retention job did."""

from django.db import models

from salon.append_only import AppendOnlyModel
from salon.models import Salon


class RetentionRun(AppendOnlyModel):
    """What one run of `manage.py retain` did in a salon: numbers only."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="retention_runs")
    ran_at = models.DateTimeField()
    counts = models.JSONField(default=dict)

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-ran_at", "-pk"]

    @property
    def erased(self) -> int:
        """How many people were erased, whatever the reason."""
        return sum(self.counts.get(name, 0) for name in ("people", "asked", "kept"))

    def __str__(self) -> str:
        return f"{self.salon_id} {self.ran_at:%Y-%m-%d}"
