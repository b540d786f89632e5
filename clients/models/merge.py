"""Entries that were merged, and pairs known to be two people."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from clients.models.client import Client
from salon.models import Salon

# What a merge may take over from the second entry.
KEPT_VALUES = ("name", "known_as", "phone", "email", "birth_date", "note")


class ClientMerge(models.Model):
    """Two entries found to be one person.

    Records stay where they were written; the second entry points at the first, and every
    reading looks at both. Undoing lifts the pointer.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="+")
    kept = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="merges")
    merged = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="merged_by")
    # Entries that had been merged into `merged` before, and bookings that moved over.
    moved_clients = models.JSONField(default=list)
    moved_appointments = models.JSONField(default=list)
    merged_at = models.DateTimeField()
    merged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    # The records of both count as one body's for the gate only once this is confirmed.
    confirmed_at = models.DateTimeField(null=True)
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    witnessed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        ordering = ["-merged_at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(kept=F("merged")), name="merge_of_two"),
            models.UniqueConstraint(
                fields=["merged"], condition=Q(undone_at__isnull=True), name="merged_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.merged_id} into {self.kept_id}"


class PossibleDuplicate(models.Model):
    """Two entries that share a phone, an address, or a name and a birth date.

    Only `clients.people.possible_duplicates` writes these. They follow from the two clients
    and from what was settled about them, and hold nothing of their own.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="+", db_index=False)
    first = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="+")
    second = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="+")
    # Found to be two people, or two of one household: nobody is asked.
    is_settled = models.BooleanField(default=False)

    class Meta:
        indexes = [
            models.Index(
                fields=["salon", "is_settled", "-id"], name="possible_duplicate_to_review"
            )
        ]
        constraints = [
            models.UniqueConstraint(fields=["first", "second"], name="possible_duplicate_once"),
            models.CheckConstraint(
                condition=Q(first__lt=F("second")), name="possible_duplicate_in_order"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.first_id} {self.second_id}"


class NotTheSame(models.Model):
    """Two entries that someone looked at and found to be two people."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="+")
    first = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="+")
    second = models.ForeignKey(Client, on_delete=models.CASCADE, related_name="+")
    said_at = models.DateTimeField()
    said_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["first", "second"], name="not_the_same_once"),
            models.CheckConstraint(
                condition=Q(first__lt=F("second")), name="not_the_same_in_order"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.first_id} {self.second_id}"
