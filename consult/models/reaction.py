"""Reactions of the skin while colour was on."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.models import ClientAlert, Sign
from clients.sealed.fields import SealedTextField
from consult.models.visit import Visit
from salon.append_only import AppendOnlyModel


class ReactionKind(models.TextChoices):
    """What a row says of a reaction."""

    PRESSED = "pressed", _("reaction")
    SEEN = "seen", _("what was seen")
    MISTAKE = "mistake", _("pressed by mistake")


class Reaction(AppendOnlyModel):
    """That the skin reacted while colour was on, or what was seen of it; the latest row counts.

    `alert` is the one that blocks the line for this client from then on.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="reactions")
    kind = models.CharField(max_length=8, choices=ReactionKind.choices)
    signs = SealedTextField(  # codes, with commas
        _("signs"), of="visit.client", is_kept=True, max_length=120, blank=True
    )
    note = SealedTextField(
        _("note"), of="visit.client", is_kept=True, max_length=200, blank=True
    )
    alert = models.ForeignKey(ClientAlert, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=ReactionKind.values), name="reaction_kind_known"
            ),
            models.CheckConstraint(
                condition=~Q(kind="seen") | ~Q(signs=""), name="reaction_seen_names_its_signs"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.kind}"

    @property
    def sign_labels(self) -> list[str]:
        """The signs, in words."""
        return [str(Sign(code).label) for code in self.signs.split(",") if code]
