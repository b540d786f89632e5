"""The salon's own text of what a client signs."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from salon.append_only import AppendOnlyModel
from salon.models import Salon

# Number 1 is the built-in wording (`consult.agreement.statement`); the salon's own follow.
FIRST_OWN_NUMBER = 2


class StatementWording(AppendOnlyModel):
    """The salon's own words of what a client signs, in one language; the latest is in force.

    `statement` names its numbers in braces; `understandings` holds one sentence a line.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="wordings")
    language = models.CharField(_("language"), max_length=10)
    number = models.PositiveSmallIntegerField()
    statement = models.TextField(_("what the choice means"), max_length=1200)
    understandings = models.TextField(_("what the client confirms"), max_length=2400)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-number"]
        constraints = [
            models.UniqueConstraint(
                fields=["salon", "language", "number"], name="wording_number_once"
            ),
            models.CheckConstraint(
                condition=Q(number__gte=FIRST_OWN_NUMBER), name="wording_number_after_built_in"
            ),
            models.CheckConstraint(
                condition=~Q(statement="") & ~Q(understandings="") & ~Q(language=""),
                name="wording_says_something",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.language} {self.number}"
