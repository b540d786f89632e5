"""The salon's rules of mixing, as the mixing arithmetic takes them."""

from decimal import Decimal

from django.db.models import QuerySet

from formulas.mixing import BowlTable
from formulas.models import MixingRules
from salon.models import Salon
from salon.reading_once import read_once


def rules_history(*, salon: Salon) -> QuerySet[MixingRules]:
    """Return every version of the salon's rules of mixing, with who recorded it."""
    return MixingRules.objects.filter(salon=salon).select_related("recorded_by")


@read_once
def rules_in_force(*, salon: Salon) -> MixingRules:
    """Return the salon's latest rules, or the defaults, unsaved, where it has none."""
    found = MixingRules.objects.filter(salon=salon).order_by("-number").first()
    return found or MixingRules(salon=salon, number=0)


def table_of(salon: Salon) -> BowlTable:
    """Return the salon's amounts as the arithmetic takes them."""
    rules = rules_in_force(salon=salon)
    return BowlTable(
        zones={
            "roots": rules.roots_grams,
            "mid_lengths": rules.mid_lengths_grams,
            "ends": rules.ends_grams,
        },
        lengths={
            "short": rules.short_factor,
            "shoulder": rules.shoulder_factor,
            "long": rules.long_factor,
        },
        densities={
            "fine": rules.thin_factor,
            "normal": rules.normal_factor,
            "thick": rules.thick_factor,
        },
        least_bowl=rules.least_bowl_grams,
        least_grams=rules.least_grams,
        scale_step=Decimal(rules.scale_step),
    )
