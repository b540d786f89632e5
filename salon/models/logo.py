"""The salon's logo."""

from django.db import models

from salon.models.salon import Salon


class SalonLogo(models.Model):
    """The salon's logo as it is drawn on papers and on the sign-in page: a small JPEG."""

    salon = models.OneToOneField(Salon, on_delete=models.PROTECT, related_name="logo")
    content = models.BinaryField()
    changed_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.salon_id} {len(self.content)}"
