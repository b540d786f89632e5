"""Passkeys (WebAuthn) of members of staff."""

from django.db import models
from django.db.models import Q

from salon.models.staff import Staff


class Passkey(models.Model):
    """A passkey (WebAuthn) of somebody's: its public half; what signs stays in their device."""

    staff = models.ForeignKey(Staff, on_delete=models.CASCADE, related_name="passkeys")
    name = models.CharField(max_length=60)
    # Base64url. An identifier has 1023 bytes at most (WebAuthn Level 3, section 4).
    credential_id = models.CharField(max_length=1400, unique=True)
    credential = models.TextField()  # attested credential data, with the public key
    user_handle = models.CharField(max_length=90)  # random, the same for all of one person
    sign_count = models.PositiveBigIntegerField(default=0)
    added_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["added_at", "pk"]
        verbose_name = "passkey"
        verbose_name_plural = "passkeys"
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="passkey_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def salon_id(self) -> int:
        """The salon of whose it is."""
        return self.staff.salon_id
