"""Steps before the toner, such as a lightening."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from clients.sealed.fields import SealedTextField
from consult.models.hair import HALF_LEVELS
from consult.models.visit import Visit
from consult.zones import GROUPS
from formulas.mixing import PEROXIDE_LIMIT_PERCENT
from salon.append_only import AppendOnlyModel

MOST_PERCENT = int(PEROXIDE_LIMIT_PERCENT)


class StepKind(models.TextChoices):
    """What was done to the hair besides the toner."""

    LIGHTENING = "lightening", _("lightening")
    CLEANSING = "cleansing", _("cleansing wash")
    BOND = "bond", _("bond treatment")
    OTHER = "other", _("something else")


class VisitStep(AppendOnlyModel):
    """A step of the visit before the toner, with what it reached.

    A mistake is put right by a further row that replaces this one, or takes it back.
    `strength_percent` is the peroxide in the mixture as it went on the hair.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="steps")
    number = models.PositiveSmallIntegerField()
    kind = models.CharField(_("what"), max_length=12, choices=StepKind.choices)
    product = models.CharField(_("product"), max_length=120)
    zones = models.CharField(_("where"), max_length=40)
    developer_percent = models.DecimalField(
        _("developer, %"), max_digits=4, decimal_places=2, null=True, blank=True
    )
    developer_ratio = models.DecimalField(
        _("parts of developer to one"), max_digits=4, decimal_places=2, null=True, blank=True
    )
    strength_percent = models.DecimalField(
        _("peroxide in the mixture, %"), max_digits=4, decimal_places=2, null=True, blank=True
    )
    minutes = models.PositiveSmallIntegerField(_("minutes"), null=True, blank=True)
    uses_heat = models.BooleanField(_("with heat"), default=False)
    heat_note = SealedTextField(_("heat"), of="visit.client", max_length=120, blank=True)
    level_reached = models.DecimalField(
        _("level reached"), max_digits=3, decimal_places=1, null=True, blank=True
    )
    note = SealedTextField(_("note"), of="visit.client", max_length=200, blank=True)
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField()
    replaces = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by"
    )
    is_taken_back = models.BooleanField(default=False)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["visit", "number"], name="step_number_once"),
            models.CheckConstraint(
                condition=Q(kind__in=StepKind.values, zones__in=GROUPS) & ~Q(product=""),
                name="step_known_words",
            ),
            models.CheckConstraint(
                condition=Q(
                    developer_percent__isnull=True,
                    developer_ratio__isnull=True,
                    strength_percent__isnull=True,
                )
                | Q(
                    developer_percent__isnull=False,
                    developer_ratio__isnull=False,
                    strength_percent__isnull=False,
                    developer_percent__gt=0,
                    developer_ratio__gt=0,
                    strength_percent__gt=0,
                    strength_percent__lte=MOST_PERCENT,
                ),
                name="step_peroxide_within_the_limit",
            ),
            models.CheckConstraint(
                condition=Q(minutes__isnull=True) | Q(minutes__gte=1, minutes__lte=600),
                name="step_minutes_make_sense",
            ),
            models.CheckConstraint(
                condition=Q(level_reached__isnull=True) | Q(level_reached__in=HALF_LEVELS),
                name="step_level_in_half_steps",
            ),
            models.CheckConstraint(
                condition=Q(ended_at__lte=F("recorded_at"))
                & (Q(started_at__isnull=True) | Q(started_at__lte=F("ended_at"))),
                name="step_ends_after_it_started",
            ),
            models.CheckConstraint(
                condition=Q(is_taken_back=False) | Q(replaces__isnull=False),
                name="step_taken_back_names_which",
            ),
            models.CheckConstraint(
                condition=~Q(replaces=F("id")), name="step_does_not_replace_itself"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} step {self.number} {self.kind}"
