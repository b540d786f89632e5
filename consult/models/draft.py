"""Drafts of a visit's forms, and which of its pages are open."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from consult.models.visit import Visit


class Draft(models.Model):
    """What someone typed into a form of a visit and has not saved yet.

    Not a record: it is replaced by every later one, read by nobody else, and gone once the
    step is saved, the visit has ended or a day has passed.
    """

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="drafts")
    step = models.SlugField(max_length=20)
    part = models.CharField(max_length=60, blank=True)
    staff = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="drafts"
    )
    fields = models.JSONField()
    base_version = models.PositiveIntegerField()
    updated_at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "step", "part", "staff"], name="one_draft_of_a_form_each"
            ),
            models.CheckConstraint(condition=~Q(step=""), name="draft_names_its_step"),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.step} {self.part}".strip()


class Presence(models.Model):
    """One open page of a visit: who sits at it, at which step, and when it was last heard."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="presences")
    staff = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="presences"
    )
    seat = models.SlugField(max_length=40)
    step = models.SlugField(max_length=20)
    since = models.DateTimeField()
    seen_at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["visit", "seen_at"], name="presence_by_visit")]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "staff", "seat"], name="one_presence_of_a_seat"
            ),
            models.CheckConstraint(
                condition=Q(seen_at__gte=F("since")), name="presence_is_seen_after_it_began"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.staff_id} {self.step}"
