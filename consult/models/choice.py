"""The client's choices, with what was shown beside each."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from consult.models.hair import HALF_LEVELS
from consult.models.visit import Visit
from consult.models.wording import StatementWording
from consult.zones import GROUPS
from salon.append_only import AppendOnlyModel


class Place(models.TextChoices):
    """Where on the trade-off the client wants to be."""

    BRIGHT = "bright", _("Bright, some gold")
    BETWEEN = "between", _("Balanced")
    COOL = "cool", _("Coolest, deepest")
    OWN = "own", _("Chosen by the client")


class Choice(AppendOnlyModel):
    """What the client picked, once; a changed mind is the next number."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="choices")
    number = models.PositiveSmallIntegerField()
    engine_version = models.CharField(max_length=40)
    data_version = models.CharField(max_length=80)
    policy_number = models.PositiveIntegerField()
    # The salon's own words that describe the places; the built-in ones where there is none.
    wording = models.ForeignKey(
        StatementWording, on_delete=models.PROTECT, null=True, related_name="+"
    )
    language = models.CharField(max_length=10, default=settings.LANGUAGE_CODE)
    # As dark as natural hair of this level, where the client wished for depth.
    wanted_level = models.DecimalField(max_digits=3, decimal_places=1, null=True, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["visit", "number"], name="choice_number_once"),
            models.CheckConstraint(condition=Q(number__gte=1), name="choice_number_from_one"),
            models.CheckConstraint(
                condition=Q(wanted_level__isnull=True) | Q(wanted_level__in=HALF_LEVELS),
                name="choice_wanted_level_in_half_steps",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id} choice {self.number}"


class ChosenPlace(AppendOnlyModel):
    """The place of one group of zones, with everything that was shown beside it.

    `readings` are the zones as read, `shown` the curve and the strands, `predicted` the
    numbers with their ranges: plain data, so that a sign-off can freeze it.
    """

    choice = models.ForeignKey(Choice, on_delete=models.PROTECT, related_name="places")
    zones = models.CharField(max_length=40)
    place = models.CharField(max_length=8, choices=Place.choices)
    warmth_aim_percent = models.FloatField()
    statement = models.TextField()
    readings = models.JSONField()
    shown = models.JSONField()
    predicted = models.JSONField()

    class Meta(AppendOnlyModel.Meta):
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["choice", "zones"], name="chosen_place_once"),
            models.CheckConstraint(condition=Q(zones__in=GROUPS), name="chosen_zones_known"),
            models.CheckConstraint(
                condition=Q(place__in=Place.values), name="chosen_place_known"
            ),
            models.CheckConstraint(
                condition=Q(warmth_aim_percent__gte=-200, warmth_aim_percent__lte=200),
                name="chosen_aim_makes_sense",
            ),
            models.CheckConstraint(condition=~Q(statement=""), name="chosen_place_is_worded"),
        ]

    def __str__(self) -> str:
        return f"{self.zones} {self.place}"

    @property
    def wanted_level(self) -> float | None:
        """The level that the client wished it to be as dark as, as it was shown."""
        level = self.shown.get("wanted_level")
        return None if level is None else float(level)

    @property
    def as_dark_as(self) -> float | None:
        """The level that a mix is to look like: the whole head's depth, else the wish."""
        of_head = self.shown["chosen"].get("looks_level")
        return self.wanted_level if of_head is None else float(of_head)
