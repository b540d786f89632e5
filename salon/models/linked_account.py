"""Accounts of one owner in two salons."""

from django.db import models
from django.db.models import F, Q

from salon.models.staff import Staff


class LinkedAccount(models.Model):
    """That a person who owns two salons may go over from one account into the other.

    One row for each way. The keys are those that sessions of the two accounts hold too: when
    either password changes, whoever changed it, they no longer fit.
    """

    staff = models.ForeignKey(Staff, on_delete=models.CASCADE, related_name="linked_accounts")
    other = models.ForeignKey(Staff, on_delete=models.CASCADE, related_name="+")
    staff_key = models.CharField(max_length=64)
    other_key = models.CharField(max_length=64)
    linked_at = models.DateTimeField()

    class Meta:
        verbose_name = "linked account"
        verbose_name_plural = "linked accounts"
        constraints = [
            models.UniqueConstraint(fields=["staff", "other"], name="account_linked_once"),
            models.CheckConstraint(
                condition=~Q(staff=F("other")), name="account_linked_to_another"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.staff_id} {self.other_id}"

    @property
    def salon_id(self) -> int:
        """The salon of whose it is."""
        return self.staff.salon_id
