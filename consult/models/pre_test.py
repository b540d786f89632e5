"""Tests on the hair before colour."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.sealed.fields import SealedTextField
from consult.models.visit import Visit
from consult.zones import Zone
from salon.append_only import AppendOnlyModel


class PreTestKind(models.TextChoices):
    """A test on the hair before colour; `consult.hair.pretests` says how each is done."""

    INCOMPATIBILITY = "incompatibility", _("incompatibility test")
    ELASTICITY = "elasticity", _("elasticity test")
    POROSITY = "porosity", _("porosity test")
    STRAND = "strand", _("strand test")


class PreTestResult(models.TextChoices):
    """What a test showed; each kind has its own few."""

    CLEAR = "clear", _("no fizzing, heat or colour change")
    REACTED = "reacted", _("fizzing, heat or a colour change")
    SPRINGS_BACK = "springs_back", _("stretches and springs back")
    SLOW = "slow", _("comes back slowly")
    BREAKS = "breaks", _("stays stretched, or breaks")
    SMOOTH = "smooth", _("smooth")
    SLIGHTLY_ROUGH = "slightly_rough", _("slightly rough")
    ROUGH = "rough", _("rough or uneven")
    AS_PREDICTED = "as_predicted", _("as predicted")
    DEEPER = "deeper", _("deeper than predicted")
    WARMER = "warmer", _("warmer than predicted")
    WEAKENED = "weakened", _("hair weakened or broke")


RESULTS: dict[str, tuple[PreTestResult, ...]] = {
    PreTestKind.INCOMPATIBILITY: (PreTestResult.CLEAR, PreTestResult.REACTED),
    PreTestKind.ELASTICITY: (
        PreTestResult.SPRINGS_BACK,
        PreTestResult.SLOW,
        PreTestResult.BREAKS,
    ),
    PreTestKind.POROSITY: (
        PreTestResult.SMOOTH,
        PreTestResult.SLIGHTLY_ROUGH,
        PreTestResult.ROUGH,
    ),
    PreTestKind.STRAND: (
        PreTestResult.AS_PREDICTED,
        PreTestResult.DEEPER,
        PreTestResult.WARMER,
        PreTestResult.WEAKENED,
    ),
}


def _result_fits_its_kind() -> Q:
    fits = Q()
    for kind, results in RESULTS.items():
        fits |= Q(kind=str(kind), result__in=[str(result) for result in results])
    return fits


class PreTest(AppendOnlyModel):
    """One test on the hair and what it showed; a second one is a further row."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="pre_tests")
    kind = models.CharField(_("test"), max_length=16, choices=PreTestKind.choices)
    zone = models.CharField(_("zone"), max_length=12, choices=Zone.choices, blank=True)
    result = models.CharField(_("result"), max_length=16, choices=PreTestResult.choices)
    note = SealedTextField(_("note"), of="visit.client", max_length=200, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=_result_fits_its_kind(), name="pre_test_result_fits_its_kind"
            ),
            models.CheckConstraint(
                condition=Q(zone__in=[*Zone.values, ""]), name="pre_test_zone_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} {self.kind} {self.result}"
