"""Since when each key of the installation has been in use."""

from django.db import models


class KeySeen(models.Model):
    """Since when a key of this installation has been in use, by its fingerprint alone."""

    kind = models.CharField(max_length=30)  # the variable that holds it
    fingerprint = models.CharField(max_length=16)
    first_seen_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kind", "fingerprint"], name="key_seen_once"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.fingerprint}"
