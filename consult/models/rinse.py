"""Early rinses: their reasons, and those that were undone."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from consult.models.bowl import ProcessingMark
from salon.append_only import AppendOnlyModel


class RinseWhy(models.TextChoices):
    """Why a bowl was rinsed long before its time."""

    THERE = "there", _("The colour was already there")
    WISH = "wish", _("The client wanted it")
    SOONER = "sooner", _("The colour went on before the clock started")
    OTHER = "other", _("Another reason")


class RinseReason(AppendOnlyModel):
    """The reason of an early rinse; asked once, after the rinse is on record."""

    mark = models.OneToOneField(
        ProcessingMark, on_delete=models.PROTECT, related_name="early_reason"
    )
    reason = models.CharField(max_length=6, choices=RinseWhy.choices)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(reason__in=RinseWhy.values), name="rinse_reason_known"
            )
        ]

    def __str__(self) -> str:
        return f"{self.mark_id} {self.reason}"


class RinseUndone(AppendOnlyModel):
    """A rinse that was pressed by mistake: its mark stays on record and no longer counts."""

    mark = models.OneToOneField(ProcessingMark, on_delete=models.PROTECT, related_name="undone")
    undone_at = models.DateTimeField()
    undone_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        pass

    def __str__(self) -> str:
        return f"{self.mark_id} undone"
