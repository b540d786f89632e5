from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from consult.models.visit import Visit
from salon.append_only import AppendOnlyModel


class CardKind(models.TextChoices):
    """A printed page of a visit."""

    VISIT = "visit", _("visit card")
    BENCH = "bench", _("bench card")
    SIGN_OFF = "sign_off", _("sign-off sheet")


class CardPrinted(AppendOnlyModel):
    """That a page of a visit was printed, when and by whom."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="cards")
    kind = models.CharField(max_length=8, choices=CardKind.choices)
    digest = models.CharField(max_length=64)
    printed_at = models.DateTimeField()
    printed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-printed_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=CardKind.values), name="card_kind_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.kind}"
