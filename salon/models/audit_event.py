"""The audit trail."""

from django.db import models

from salon.append_only import AppendOnlyModel
from salon.models.salon import Salon


class AuditEvent(AppendOnlyModel):
    """Who did what to which record, for investigation only.

    Actor and target are kept as labels and ids, so that an event outlives both. `detail`
    holds numbers, codes and ids, never personal data.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="audit_events")
    kind = models.CharField(max_length=60)
    at = models.DateTimeField()
    actor_id = models.BigIntegerField(null=True)
    actor_label = models.CharField(max_length=80, blank=True)
    target_type = models.CharField(max_length=80)
    target_id = models.CharField(max_length=40)
    detail = models.JSONField(default=dict)

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-at", "-pk"]
        indexes = [
            models.Index(fields=["salon", "-at"], name="audit_by_time"),
            models.Index(fields=["target_type", "target_id"], name="audit_by_target"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.target_type} {self.target_id}"

    @property
    def label(self) -> str:
        """What was done, in the reader's language."""
        from salon import registry

        return registry.event_name(self.kind)

    @property
    def changes(self) -> list[str]:
        """What of the record was changed, where the event says so."""
        from salon import changed_fields

        return changed_fields.in_words(self.target_type, self.detail.get("changed"))

    @property
    def record(self) -> str:
        """Which record it was done to, in the reader's language and by its number."""
        from salon import registry

        return f"{registry.record_name(self.target_type)} {self.target_id}"
