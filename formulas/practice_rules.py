"""The salon's practice, as the engine takes it."""

from django.db.models import QuerySet

from formulas import engine
from formulas.mixing_rules import rules_in_force as mixing_rules_in_force
from formulas.models import PracticeRules, ProductLine
from salon.models import Salon


def rules_history(*, salon: Salon) -> QuerySet[PracticeRules]:
    """Return every version of the salon's practice, with who recorded it."""
    return PracticeRules.objects.filter(salon=salon).select_related("recorded_by")


def rules_in_force(*, salon: Salon) -> PracticeRules:
    """Return the salon's latest practice, or the defaults, unsaved, where it has none."""
    found = PracticeRules.objects.filter(salon=salon).order_by("-number").first()
    return found or PracticeRules(salon=salon, number=0)


def practice_of(line: ProductLine) -> tuple[int, engine.Practice]:
    """Return the number and the limits of the practice in force, read once for a line."""
    known: tuple[int, engine.Practice] | None = line.__dict__.get("practice")
    if known is None:
        known = line.__dict__["practice"] = _practice(line.salon)
    return known


def _practice(salon: Salon) -> tuple[int, engine.Practice]:
    rules = rules_in_force(salon=salon)
    smallest = mixing_rules_in_force(salon=salon).least_grams
    return rules.number, engine.Practice(
        levels_below=float(rules.levels_below),
        levels_above=float(rules.levels_above),
        most_clear=rules.most_clear_percent / 100.0,
        most_shades=rules.most_shades,
        smallest_grams=float(smallest),
        simple_first=rules.simple_first,
    )
