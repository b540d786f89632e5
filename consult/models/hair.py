"""What the stylist reads on the hair, zone by zone and as a whole."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.sealed.fields import SealedTextField
from consult.models.visit import Visit
from consult.zones import Zone
from salon.append_only import AppendOnlyModel

HALF_LEVELS = [Decimal(n) / 2 for n in range(2, 21)]


class Banding(models.TextChoices):
    """Whether lighter and darker bands run across a zone."""

    NONE = "none", _("none")
    SLIGHT = "slight", _("slight")
    MARKED = "marked", _("marked")


class ZoneReading(AppendOnlyModel):
    """What the stylist reads on one zone; the latest row of a zone is in force."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="zone_readings")
    zone = models.CharField(_("zone"), max_length=12, choices=Zone.choices)
    is_toned = models.BooleanField(_("tone this zone"), default=True)
    natural_level = models.DecimalField(_("natural level"), max_digits=3, decimal_places=1)
    lifted_level = models.DecimalField(_("lifted level"), max_digits=3, decimal_places=1)
    undertone = models.DecimalField(
        _("undertone"), max_digits=3, decimal_places=2, default=Decimal(0)
    )
    white_percent = models.PositiveSmallIntegerField(_("white hair, %"), default=0)
    porosity = models.DecimalField(
        _("porosity"), max_digits=3, decimal_places=2, default=Decimal(0)
    )
    # Empty: nobody looked for bands.
    banding = models.CharField(_("banding"), max_length=6, choices=Banding.choices, blank=True)
    note = SealedTextField(_("note"), of="visit.client", max_length=200, blank=True)
    # The visit whose reading was looked at again and confirmed as it was.
    carried_from = models.ForeignKey(
        Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(zone__in=Zone.values), name="reading_zone_known"
            ),
            models.CheckConstraint(
                condition=Q(natural_level__in=HALF_LEVELS, lifted_level__in=HALF_LEVELS),
                name="reading_levels_in_half_steps",
            ),
            models.CheckConstraint(
                condition=Q(undertone__gte=-1, undertone__lte=1),
                name="reading_undertone_within_scale",
            ),
            models.CheckConstraint(
                condition=Q(porosity__gte=-1, porosity__lte=1),
                name="reading_porosity_within_scale",
            ),
            models.CheckConstraint(
                condition=Q(white_percent__lte=100), name="reading_white_up_to_100"
            ),
            models.CheckConstraint(
                condition=Q(banding__in=[*Banding.values, ""]), name="reading_banding_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.zone} {self.lifted_level}"


class Texture(models.TextChoices):
    """How thick one hair is."""

    FINE = "fine", _("fine")
    MEDIUM = "medium", _("medium")
    COARSE = "coarse", _("coarse")


class Density(models.TextChoices):
    """How much hair there is."""

    THIN = "fine", _("thin")
    NORMAL = "normal", _("normal")
    THICK = "thick", _("thick")


class Length(models.TextChoices):
    """How long the hair is."""

    SHORT = "short", _("short")
    SHOULDER = "shoulder", _("to the shoulder")
    LONG = "long", _("longer than the shoulder")


class Scalp(models.TextChoices):
    """What the scalp looks like; sore forbids colour."""

    CALM = "calm", _("calm")
    DRY = "dry", _("dry or flaky")
    OILY = "oily", _("oily")
    SORE = "sore", _("red, sore or broken")


class Washes(models.TextChoices):
    """What is known of the washes since the last toner."""

    COUNTED = "counted", _("counted")
    NONE_LEFT = "none_left", _("No toner is left")
    NOT_ASKED = "not_asked", _("Not asked")


class HairFacts(AppendOnlyModel):
    """What is true of the whole head; the latest row is in force. Empty: nobody looked.

    `washes_assumed` is what predictions count with where washes were not asked; it is never
    shown as the client's own number.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="hair_facts")
    texture = models.CharField(_("texture"), max_length=8, choices=Texture.choices, blank=True)
    density = models.CharField(_("density"), max_length=8, choices=Density.choices, blank=True)
    length = models.CharField(_("length"), max_length=10, choices=Length.choices, blank=True)
    scalp_state = models.CharField(_("scalp"), max_length=4, choices=Scalp.choices, blank=True)
    scalp = SealedTextField(
        _("note on the scalp"), of="visit.client", max_length=200, blank=True
    )
    washes_since_toner = models.PositiveSmallIntegerField(
        _("washes since the last toner"), null=True, blank=True
    )
    washes_answer = models.CharField(max_length=9, choices=Washes.choices, blank=True)
    washes_assumed = models.PositiveSmallIntegerField(null=True, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(texture__in=[*Texture.values, ""])
                & Q(density__in=[*Density.values, ""])
                & Q(length__in=[*Length.values, ""])
                & Q(scalp_state__in=[*Scalp.values, ""]),
                name="hair_facts_known_words",
            ),
            models.CheckConstraint(
                condition=Q(washes_since_toner__isnull=True) | Q(washes_since_toner__lte=400),
                name="hair_facts_washes_make_sense",
            ),
            models.CheckConstraint(
                condition=Q(washes_answer="")
                | Q(washes_answer="counted", washes_since_toner__isnull=False)
                | Q(
                    washes_answer__in=["none_left", "not_asked"],
                    washes_since_toner__isnull=True,
                ),
                name="hair_facts_washes_as_answered",
            ),
            models.CheckConstraint(
                condition=Q(washes_assumed__isnull=True) | Q(washes_answer="not_asked"),
                name="hair_facts_washes_assumed_only_unasked",
            ),
        ]

    @property
    def washes_counted(self) -> int | None:
        """Washes that predictions count with: the client's, else those assumed."""
        if self.washes_since_toner is not None:
            return self.washes_since_toner
        return self.washes_assumed

    def __str__(self) -> str:
        return f"{self.texture} {self.density} {self.length}"
