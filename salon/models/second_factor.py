"""Second factors of signing in, and recovery codes."""

from django.db import models

from salon.models.staff import Staff

# Wrong codes in a row after which only a recovery code counts (NIST SP 800-63B-4, 3.2.2).
CODE_TRIES = 100


class SecondFactor(models.Model):
    """That somebody signs in with two factors: an authenticator app, passkeys, or both.

    The secret is the app's, and empty where there are passkeys only; the recovery codes and
    the count of wrong codes belong to either.
    """

    staff = models.OneToOneField(Staff, on_delete=models.CASCADE, related_name="second_factor")
    secret = models.TextField(blank=True)  # encrypted; see salon.second_factor.codes
    set_at = models.DateTimeField()
    # The last step whose code was used: no code counts twice.
    last_step = models.BigIntegerField(default=0)
    wrong_tries = models.PositiveSmallIntegerField(default=0)

    class Meta:
        verbose_name = "second factor"
        verbose_name_plural = "second factors"

    def __str__(self) -> str:
        return f"{self.staff_id}"

    @property
    def salon_id(self) -> int:
        """The salon of whose it is."""
        return self.staff.salon_id


class RecoveryCode(models.Model):
    """One of the codes for when the app is lost; each counts once."""

    factor = models.ForeignKey(
        SecondFactor, on_delete=models.CASCADE, related_name="recovery_codes"
    )
    name = models.CharField(max_length=4)  # its first letters, to find it by
    secret = models.CharField(max_length=128)  # the others, hashed as a password is
    used_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["factor", "name"], name="recovery_code_named_once"),
        ]

    def __str__(self) -> str:
        return f"{self.factor_id} {self.pk}"
