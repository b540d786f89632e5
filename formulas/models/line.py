"""Product lines with their developers and times."""

from decimal import Decimal, InvalidOperation

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from formulas.mixing.peroxide import PEROXIDE_LIMIT_PERCENT, check_developer
from formulas.mixing.scale import MixingRefused
from salon.models import Salon

MOST_CHECKS = 6
MOST_DEVELOPERS = 6

MOST_PERCENT = int(PEROXIDE_LIMIT_PERCENT)


class LineKind(models.TextChoices):
    """How a demi-permanent line sets."""

    ACIDIC = "acidic", _("acidic demi-permanent")
    ALKALINE = "alkaline", _("alkaline demi-permanent")


class InventedAnswer(models.TextChoices):
    """What an owner answered when asked about a line whose shades are invented."""

    KNOWN = "known", _("We know: these are the demo's values")
    OWN = "own", _("It is our own line now")


class ProductLine(models.Model):
    """A line of toning shades with its developer, as the salon stocks it."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="lines")
    name = models.CharField(_("name"), max_length=80)
    kind = models.CharField(_("kind"), max_length=10, choices=LineKind.choices)
    supplier = models.CharField(_("supplier"), max_length=80, blank=True)
    developer_ratio = models.DecimalField(
        _("developer per part of colour"),
        max_digits=3,
        decimal_places=2,
        default=Decimal("1.5"),
        validators=[MinValueValidator(Decimal("0.5")), MaxValueValidator(Decimal(3))],
        help_text=_("1.5 means one part colour to one and a half parts developer."),
    )
    developer_percent = models.DecimalField(
        _("developer strength, % peroxide"),
        max_digits=4,
        decimal_places=2,
        default=Decimal("1.9"),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(PEROXIDE_LIMIT_PERCENT)],
    )
    # Strengths that a formula may take instead, in %, as text so that they stay exact: rising.
    further_developers = models.JSONField(
        _("further developers, % peroxide"), default=list, blank=True
    )
    processing_minutes = models.PositiveSmallIntegerField(
        _("processing time, minutes"),
        default=20,
        validators=[MinValueValidator(1), MaxValueValidator(90)],
    )
    developer_bottle_grams = models.DecimalField(
        _("grams in a bottle of developer"),
        max_digits=7,
        decimal_places=1,
        default=Decimal(1000),
        validators=[MinValueValidator(Decimal(1))],
    )
    developer_bottle_price = models.DecimalField(
        _("price of a bottle of developer"),
        max_digits=8,
        decimal_places=2,
        default=Decimal(0),
        validators=[MinValueValidator(Decimal(0))],
        help_text=_("0 means no price yet: costs then say so."),
    )
    # Minutes after which the maker asks to look: rising, all before the time is up.
    check_minutes = models.JSONField(_("check at, minutes"), default=list, blank=True)
    is_starting_point = models.BooleanField(
        _("a starting point, not yet the salon's own line"),
        default=False,
        help_text=_("Untick it when the shades and strengths are those of the real product."),
    )
    # An owner is asked once about an invented line; empty until answered.
    invented_answer = models.CharField(
        max_length=5, choices=InventedAnswer.choices, default="", blank=True, editable=False
    )
    invented_answered_at = models.DateTimeField(null=True, blank=True, editable=False)
    is_active = models.BooleanField(_("in use"), default=True)
    composition_changed_at = models.DateTimeField(
        _("composition changed at"),
        null=True,
        blank=True,
        help_text=_("A patch test placed before then no longer counts."),
    )
    # What is not known of the line here, as results narrowed it and an owner accepted; empty
    # for what the engine assumes (`engine_inputs.doubts_from`).
    doubts = models.JSONField(default=dict, blank=True, editable=False)
    data_version = models.PositiveIntegerField(
        default=1, help_text=_("Goes up with every change to the line or its shades.")
    )

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["salon", "name"], name="line_name_once_per_salon"),
            models.CheckConstraint(
                condition=Q(developer_ratio__gt=0, processing_minutes__gt=0),
                name="line_ratio_and_time_positive",
            ),
            models.CheckConstraint(
                condition=Q(developer_bottle_grams__gt=0, developer_bottle_price__gte=0),
                name="line_developer_bottle_makes_sense",
            ),
            models.CheckConstraint(
                condition=Q(developer_percent__gte=0, developer_percent__lte=MOST_PERCENT),
                name="line_peroxide_within_the_limit",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=LineKind.values), name="line_kind_known"
            ),
            models.CheckConstraint(
                condition=Q(invented_answer__in=["", *InventedAnswer.values]),
                name="line_invented_answer_known",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def known_developer_price(self) -> Decimal | None:
        """What a gram of developer costs, to be kept with a pour; None without a price."""
        if not self.developer_bottle_price:
            return None
        return round(self.developer_bottle_price / self.developer_bottle_grams, 4)

    @property
    def asks_if_invented(self) -> bool:
        """Whether an owner is still to be asked if its invented values are known or gone."""
        return self.is_starting_point and not self.invented_answer

    @property
    def developers(self) -> list[Decimal]:
        """The strengths that a formula may take, in %: the usual one first."""
        return [self.developer_percent, *map(Decimal, self.further_developers)]

    def clean(self) -> None:
        """Refuse developers above the limit, and check marks that make no sense."""
        self._clean_developers()
        self._clean_marks()

    def _clean_developers(self) -> None:
        """Refuse a developer that may not go into the bowl, and one named twice."""
        try:
            strengths = [Decimal(text) for text in self.further_developers]
            for strength in strengths:
                check_developer(strength, ratio=self.developer_ratio)
        except (InvalidOperation, TypeError):
            words = _("Enter strengths in %, separated by semicolons.")
            raise ValidationError({"further_developers": words}) from None
        except MixingRefused as refused:
            raise ValidationError({"further_developers": str(refused)}) from None
        rises = strengths == sorted({*strengths} - {self.developer_percent})
        if not rises or len(strengths) > MOST_DEVELOPERS:
            words = _("At most six, each once and other than the usual one.")
            raise ValidationError({"further_developers": words})

    def _clean_marks(self) -> None:
        """Refuse check marks that do not rise, or do not lie before the time is up."""
        marks = self.check_minutes
        if not isinstance(marks, list) or any(type(mark) is not int for mark in marks):
            raise ValidationError(
                {"check_minutes": _("Enter whole minutes, separated by commas.")}
            )
        if len(marks) > MOST_CHECKS:
            raise ValidationError({"check_minutes": _("At most six times.")})
        if marks != sorted(set(marks)):
            raise ValidationError(
                {"check_minutes": _("Each time must be later than the one before.")}
            )
        if marks and not 0 < marks[0] <= marks[-1] < self.processing_minutes:
            raise ValidationError(
                {"check_minutes": _("The times must be before the end of the processing time.")}
            )
