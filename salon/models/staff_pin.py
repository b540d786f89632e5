"""PINs of members of staff."""

from django.conf import settings
from django.db import models
from django.db.models import Q

PIN_TRIES = 5


class StaffPin(models.Model):
    """A member's six digits for an enrolled device, as a slow hash.

    A try is counted before it is looked at, so that many at once gain nothing. After five
    wrong ones the PIN is off until its owner signs in with the password.
    """

    staff = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="pin"
    )
    secret = models.CharField(max_length=200)
    set_at = models.DateTimeField()
    wrong_tries = models.PositiveSmallIntegerField(default=0)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(wrong_tries__lte=PIN_TRIES), name="staff_pin_tries_end"
            ),
        ]

    def __str__(self) -> str:
        return str(self.staff_id)

    @property
    def is_off(self) -> bool:
        """Whether wrong tries have switched it off."""
        return self.wrong_tries >= PIN_TRIES
