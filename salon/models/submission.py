"""Forms that were sent, so that none is done twice."""

from django.conf import settings
from django.db import models


class Submission(models.Model):
    """A form that was sent once, and where its answer led; see `salon.submissions`."""

    key = models.UUIDField(primary_key=True)
    staff = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE)
    path = models.CharField(max_length=300)
    answer = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return str(self.key)
