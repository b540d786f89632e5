"""Reads of one visit: what is in force of everything that was recorded."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from django.db.models import Prefetch, QuerySet, prefetch_related_objects

from clients.models import Appointment
from consult import zones
from consult.agreement import anchor_mail
from consult.models import (
    Anchor,
    BowlLine,
    BowlMixed,
    Choice,
    Formula,
    FormulaLine,
    HairFacts,
    PreTest,
    ProcessingCheck,
    ProcessingMark,
    ResultSeen,
    SignOff,
    StatementWording,
    StepKind,
    Visit,
    VisitStep,
    ZoneReading,
)
from salon.models import Salon
from salon.numbers import row_number


def closed_visit_of(appointment: Appointment) -> Visit | None:
    """Return the latest visit of an appointment that was closed, with what a page shows."""
    closed = Visit.objects.filter(appointment=appointment).for_show().closed()
    return closed.order_by("-opened_at", "-pk").first()


def readings_in_force(visit: Visit) -> dict[str, ZoneReading]:
    """Return the latest reading of each zone."""
    rows = ZoneReading.objects.filter(visit=visit).order_by("pk")
    return {row.zone: row for row in rows}


def facts_in_force(visit: Visit) -> HairFacts | None:
    """Return the latest facts about the whole head."""
    return HairFacts.objects.filter(visit=visit).order_by("-pk").first()


def pre_tests_of(visit: Visit) -> list[PreTest]:
    """Return every test on the hair of a visit, in order."""
    return list(PreTest.objects.filter(visit=visit).select_related("recorded_by"))


def steps_in_force(visit: Visit) -> list[VisitStep]:
    """Return the steps of a visit that were neither replaced nor taken back, in order."""
    return list(
        VisitStep.objects.filter(visit=visit, replaced_by__isnull=True, is_taken_back=False)
        .select_related("recorded_by")
        .order_by("ended_at", "number")
    )


def needs_new_reading(visit: Visit, facts: HairFacts | None) -> bool:
    """Return whether the hair was lightened after it was last read, as `facts` tell when."""
    return facts is not None and any(
        step.kind == StepKind.LIGHTENING and step.ended_at > facts.recorded_at
        for step in steps_in_force(visit)
    )


def levels_reached(visit: Visit) -> dict[str, Decimal]:
    """Return the level that steps since the last reading brought each zone to."""
    facts = facts_in_force(visit)
    return {
        zone: step.level_reached
        for step in steps_in_force(visit)
        if step.level_reached and (facts is None or step.ended_at > facts.recorded_at)
        for zone in zones.Group(step.zones).members
    }


def groups_of(readings: Mapping[str, ZoneReading], facts: HairFacts | None = None) -> list[str]:
    """Return the toned zones in groups that read alike, from the scalp outwards.

    Where toner from the last visit is left on the lengths, the roots form a group of their own.
    """
    keeps_toner = facts is not None and facts.washes_counted is not None
    alike: dict[tuple[object, ...], list[str]] = {}
    for zone in zones.IN_ORDER:
        row = readings.get(zone)
        if row is None or not row.is_toned:
            continue
        key = (
            row.natural_level,
            row.lifted_level,
            row.undertone,
            row.white_percent,
            row.porosity,
            keeps_toner and zone == zones.Zone.ROOTS,
        )
        alike.setdefault(key, []).append(zone)
    return [zones.Group.of(members) for members in alike.values()]


def choice_in_force(visit: Visit) -> Choice | None:
    """Return the latest choice with its places and, where it was signed, its sign-off."""
    return choices_of(visit).last()


def choices_of(visit: Visit) -> QuerySet[Choice]:
    """Return every choice of a visit with its places and its sign-off, oldest first."""
    return (
        Choice.objects.filter(visit=visit)
        .select_related("sign_off__witness", "recorded_by", "wording")
        .prefetch_related("places")
        .order_by("number")
    )


def sign_off_of(choice: Choice | None) -> SignOff | None:
    """Return the sign-off of a choice, or None."""
    return getattr(choice, "sign_off", None) if choice else None


def sign_offs(visit: Visit) -> QuerySet[SignOff]:
    """Return every sign-off of a visit, oldest first."""
    return SignOff.objects.filter(visit=visit).select_related("witness", "choice")


def _with_lines() -> "Prefetch[str, QuerySet[FormulaLine], str]":
    return Prefetch("lines", FormulaLine.objects.select_related("shade"))


def formulas_in_force(visit: Visit, sign_off: SignOff | None) -> list[Formula]:
    """Return the formulas made for a sign-off; a later one replaces what it overlaps."""
    if sign_off is None:
        return []
    return latest_of(formulas_of(visit).filter(sign_off=sign_off).order_by("-pk"))


def formulas_of(visit: Visit) -> QuerySet[Formula]:
    """Return every revision of every formula of a visit, oldest first."""
    return (
        Formula.objects.filter(visit=visit)
        .select_related("line", "decided_by")
        .prefetch_related(_with_lines())
        .order_by("pk")
    )


def latest_of(formulas: Iterable[Formula]) -> list[Formula]:
    """Return, of formulas latest first, those that no later one overlaps; roots first."""
    current: list[Formula] = []
    taken: set[str] = set()
    for formula in formulas:
        members = set(zones.Group(formula.zones).members)
        if not members & taken:
            current.append(formula)
        taken |= members
    order = {key: place for place, key in enumerate(zones.IN_ORDER)}
    return sorted(current, key=lambda formula: order[zones.Group(formula.zones).first])


def formula_history(visit: Visit) -> QuerySet[Formula]:
    """Return every revision of every formula of a visit, latest first."""
    return (
        Formula.objects.filter(visit=visit)
        .select_related("decided_by")
        .prefetch_related(_with_lines())
        .order_by("-pk")
    )


def bowls_of(visit: Visit) -> list[BowlMixed]:
    """Return the bowls of a visit with their lines and marks, in order."""
    return list(
        BowlMixed.objects.filter(visit=visit)
        .select_related("formula__line", "mixed_by")
        .prefetch_related(
            Prefetch("lines", BowlLine.objects.select_related("shade")),
            Prefetch("marks", ProcessingMark.objects.select_related("marked_by")),
            Prefetch("checks", ProcessingCheck.objects.select_related("checked_by")),
        )
        .order_by("number")
    )


def fetch_leftovers(bowls: Sequence[BowlMixed]) -> None:
    """Fetch what is left in some bowls, for the page that asks for it; one query."""
    prefetch_related_objects(bowls, "leftovers")


def results_in_force(visit: Visit) -> dict[str, ResultSeen]:
    """Return the latest result of each group of zones."""
    rows = ResultSeen.objects.filter(visit=visit).select_related("seen_by").order_by("pk")
    return {row.zones: row for row in rows}


def zones_covered(keys: Iterable[str]) -> set[str]:
    """Return all zones that some groups hold together."""
    return {zone for key in keys for zone in zones.Group(key).members}


def groups_toned(visit: Visit) -> list[str]:
    """Return the groups of the choice in force: those a result is expected for."""
    choice = choice_in_force(visit)
    return [place.zones for place in choice.places.all()] if choice else []


def choice_numbered(visit: Visit, pk: object) -> Choice | None:
    """Return one choice of a visit by its id as a form gives it, or None."""
    number = row_number(str(pk))
    return Choice.objects.filter(visit=visit, pk=number).first() if number else None


def wordings_of(*, salon: Salon, language: str) -> QuerySet[StatementWording]:
    """Return the salon's own words of a language, latest first."""
    rows = StatementWording.objects.filter(salon=salon, language=language)
    return rows.select_related("recorded_by")


def anchors_of(*, salon: Salon) -> QuerySet[Anchor]:
    """Return a salon's anchors, latest first."""
    return Anchor.objects.filter(salon=salon).select_related("made_by")


def owner_addresses(*, salon: Salon) -> list[str]:
    """Return the e-mail addresses that a salon's anchors are sent to."""
    return list(anchor_mail.readers(salon).values_list("email", flat=True))
