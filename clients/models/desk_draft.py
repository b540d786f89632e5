"""Drafts of the desk's forms."""

from django.conf import settings
from django.db import models


class DeskDraft(models.Model):
    """What someone typed into a form of the desk and has not saved yet.

    Not a record: it is replaced by every later one, read by nobody else, and gone once the
    form is saved or a day has passed.
    """

    staff = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="desk_drafts"
    )
    # The page with its query: the same form for another time or client is another draft.
    address = models.CharField(max_length=500)
    fields = models.JSONField()
    updated_at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["staff", "address"], name="one_desk_draft_of_a_page_each"
            ),
        ]

    def __str__(self) -> str:
        return self.address
