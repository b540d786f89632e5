"""Long pieces of work for a salon, as rows."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from salon.models.salon import Salon


class RunState(models.TextChoices):
    """What became of a run."""

    OPEN = "open"
    DONE = "done"
    FAILED = "failed"


class WorkRun(models.Model):
    """A long piece of work for a salon: how far it is, and what came of it.

    Of a kind one is open in a salon at a time, however often it is asked for.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=20)
    subject = models.PositiveBigIntegerField(default=0)  # the number of what it is about
    state = models.CharField(max_length=6, choices=RunState.choices, default=RunState.OPEN)
    rows_done = models.PositiveIntegerField(default=0)
    rows_expected = models.PositiveIntegerField(default=0)
    task = models.CharField(max_length=36, blank=True)  # the queue's number of the last one
    # Numbers and codes: what was done so far, or what was computed.
    outcome = models.JSONField(default=dict)
    begun_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )  # empty: by the clock
    begun_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-begun_at", "-pk"]
        indexes = [
            models.Index(
                fields=["salon", "kind", "subject", "-begun_at"], name="run_by_subject"
            )
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=RunState.values), name="run_state_known"
            ),
            models.UniqueConstraint(
                fields=["salon", "kind"], condition=Q(state="open"), name="run_open_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.pk}"

    @property
    def is_open(self) -> bool:
        """Whether it is still to be done."""
        return self.state == RunState.OPEN

    @property
    def has_failed(self) -> bool:
        """Whether a fault ended it."""
        return self.state == RunState.FAILED
