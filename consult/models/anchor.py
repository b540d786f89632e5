"""Anchors: notes, kept outside of the database, of the newest sign-off."""

import base64

from django.conf import settings
from django.db import models
from django.db.models import Q

from salon.append_only import AppendOnlyModel
from salon.models import Salon


class Anchor(AppendOnlyModel):
    """The newest sign-off of a salon as it was noted outside of the database, and where.

    `text` is the very file (`consult.agreement.anchors`); `stamp` is the answer of a
    time-stamp authority (RFC 3161) about it, in base64. `faults` names, by place, what kept
    the anchor from arriving there. Mails leave later: what became of them their letters say
    (`consult.agreement.anchor_mail`); `mails` counts those of earlier releases.
    """

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="anchors")
    position = models.PositiveIntegerField()
    digest = models.CharField(max_length=64)
    text = models.TextField()
    file = models.CharField(max_length=200, blank=True)
    mails = models.PositiveSmallIntegerField(default=0)
    stamp = models.TextField(blank=True)
    stamped_at = models.DateTimeField(null=True, blank=True)
    faults = models.JSONField(default=dict, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(position__gte=1), name="anchor_position_from_one"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.position} {self.digest[:16]}"

    @property
    def stamp_file(self) -> bytes:
        """The authority's answer as it came."""
        return base64.b64decode(self.stamp)
