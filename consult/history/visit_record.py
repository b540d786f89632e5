"""One visit as its records tell it: what was poured, on which zones, and what came out.

Everything after the bench is told from the bowls that were on the hair, and from the revision
and the signature that each was mixed under. What was decided and never mixed is named as such
and never compared with a result.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.db.models import Prefetch, QuerySet

from consult import selectors, zones
from consult.history.on_the_hair import OnTheHair
from consult.models import (
    BowlLine,
    BowlMixed,
    Choice,
    ChosenPlace,
    Formula,
    FormulaLine,
    Reaction,
    ResultSeen,
    SignOff,
    Visit,
    VisitStep,
)
from consult.visit.bowls import BowlState, state_of, toned_groups
from consult.visit.records import Records
from formulas.snapshots import Prediction, Range


@dataclass(frozen=True)
class GroupRecord:
    """Zones that the same bowls touched, or that none did: what was signed, mixed and seen.

    `formula` is the revision of the last bowl; where none was on these zones, what was
    decided for them, if anything was. `bowls` are those on the hair, in their order.
    """

    zones: str
    place: ChosenPlace
    formula: Formula | None
    bowls: Sequence[BowlState]
    result: ResultSeen | None
    # The groups that each bowl was on, by the bowl's key, in the order of the head.
    served: Mapping[int, Sequence[str]] = field(default_factory=dict)

    @property
    def bowl(self) -> BowlMixed | None:
        """The last bowl on these zones."""
        return self.bowls[-1].bowl if self.bowls else None

    @property
    def is_running(self) -> bool:
        """Whether colour is on some of it now."""
        return any(bowl.zones_on & set(zones.Group(self.zones).members) for bowl in self.bowls)

    @property
    def is_comparable(self) -> bool:
        """Whether the result can be held against a prediction: one mix, on the hair."""
        mixes = {state.formula.pk for state in self.bowls}
        seen = self.result is not None and None not in (
            self.result.level,
            self.result.warmth_left_percent,
        )
        return seen and len(mixes) == 1

    @property
    def promised(self) -> Prediction:
        """What was signed."""
        signed: Prediction = self.place.predicted
        return signed

    @property
    def predicted(self) -> Prediction:
        """What the result is compared with: the bowl as poured, for as long as it was on.

        Early results kept none: then those of the formula, else what was signed.
        """
        compared: Prediction | None = self.result.predicted if self.result else None
        planned: dict[str, Prediction] = self.formula.predicted if self.formula else {}
        return compared or planned.get(self.place.zones) or self.promised

    @property
    def level_drift(self) -> float | None:
        """Levels by which the result is lighter (positive) than predicted."""
        if self.result is None or self.result.level is None or not self.is_comparable:
            return None
        return float(self.result.level) - float(self.predicted["level"]["value"])

    @property
    def deeper(self) -> float | None:
        """Levels by which the result is deeper (positive) than predicted, as lists say it."""
        drift = self.level_drift
        return None if drift is None else -drift

    @property
    def warmth_drift(self) -> float | None:
        """Warmth, in percent, that the result shows more (positive) than predicted."""
        if self.result is None or not self.is_comparable:
            return None
        if self.result.warmth_left_percent is None:
            return None
        return self.result.warmth_left_percent - float(
            self.predicted["warmth_left_percent"]["value"]
        )

    @property
    def within_range(self) -> bool:
        """Whether warmth and level were both seen within their predicted ranges.

        Levels are read in half steps: a quarter either way cannot be told.
        """
        known = self.level_drift is not None and self.warmth_drift is not None
        return known and self.is_level_within and self.is_warmth_within

    @property
    def is_level_within(self) -> bool:
        """Whether the level was seen within its range, a quarter either way."""
        return _is_within(self.level_drift, self.predicted["level"], slack=0.25)

    @property
    def is_warmth_within(self) -> bool:
        """Whether the warmth was seen within its range, 5 points either way."""
        return _is_within(self.warmth_drift, self.predicted["warmth_left_percent"], slack=5)

    @property
    def minutes(self) -> int | None:
        """How long the last bowl was on these zones."""
        return self.bowls[-1].minutes_on(self.zones) if self.bowls else None

    @property
    def mixed(self) -> list[OnTheHair]:
        """Each bowl with how long it was on these zones."""
        return [
            OnTheHair(
                state,
                state.minutes_on(self.zones),
                [(key, state.minutes_on(key)) for key in self._served(state)],
                is_in_full=self._served(state)[0] == self.zones,
            )
            for state in self.bowls
        ]

    def _served(self, state: BowlState) -> Sequence[str]:
        return self.served.get(state.bowl.pk, (self.zones,))


@dataclass(frozen=True)
class VisitRecord:
    """A visit with its groups, as a history shows it.

    `unmixed` are formulas that were decided and never mixed, `unused` bowls that were mixed
    and never on the hair; `steps` what was done before the toner, as it counts; `reaction`
    the latest word on one, which stopped the colour.
    """

    visit: Visit
    groups: list[GroupRecord]
    steps: Sequence[VisitStep] = ()
    unmixed: Sequence[Formula] = ()
    unused: Sequence[BowlState] = ()
    reaction: Reaction | None = None

    @property
    def line_name(self) -> str:
        """The line's name when the first bowl was poured, else as it is called now."""
        poured = [state.bowl.line_name for group in self.groups for state in group.bowls]
        return next((name for name in poured if name), self.visit.line.name)

    @property
    def replaced_unmixed(self) -> list[Formula]:
        """Formulas never mixed for zones that another mix was on."""
        shown = {group.formula.pk for group in self.groups if group.formula}
        return [row for row in self.unmixed if row.pk not in shown]

    @property
    def signed(self) -> list[SignOff]:
        """The signatures that the bowls on the hair were mixed under, oldest first."""
        rows = {s.formula.sign_off_id: s.formula.sign_off for g in self.groups for s in g.bowls}
        return [rows[pk] for pk in sorted(rows)]


def _is_within(drift: float | None, ranged: Range, *, slack: float) -> bool:
    """Return whether a result lies in its range; True where there is nothing to compare."""
    if drift is None:
        return True
    seen = ranged["value"] + drift
    return bool(ranged["low"] - slack <= seen <= ranged["high"] + slack)


def _lines() -> "Prefetch[str, QuerySet[FormulaLine], str]":
    return Prefetch("lines", FormulaLine.objects.select_related("shade"))


def records_of(visits: Any) -> list[VisitRecord]:
    """Return visits with all that a history shows, in a fixed number of queries."""
    rows = visits.select_related(
        "stylist", "line__salon", "client", "corrects", "salon", "appointment"
    ).prefetch_related(
        Prefetch(
            "choices",
            Choice.objects.order_by("number")
            .select_related("sign_off")
            .prefetch_related("places"),
        ),
        Prefetch("formulas", Formula.objects.order_by("pk").prefetch_related(_lines())),
        Prefetch(
            "bowls",
            BowlMixed.objects.order_by("number").prefetch_related(
                "marks", "checks", Prefetch("lines", BowlLine.objects.select_related("shade"))
            ),
        ),
        Prefetch("results", ResultSeen.objects.order_by("pk")),
        Prefetch("steps", VisitStep.objects.select_related("recorded_by")),
        "reactions",
        "corrections",
    )
    return [of_visit(visit) for visit in rows]


def of_visit(visit: Visit) -> VisitRecord:
    """Return one visit, whose rows are all fetched, as its records tell it."""
    steps = list(visit.steps.all())
    replaced = {row.replaces_id for row in steps}
    return of_records(
        Records(
            visit=visit,
            choices=list(visit.choices.all()),
            formulas=list(visit.formulas.all()),
            bowls=list(visit.bowls.all()),
            results=list(visit.results.all()),
            reactions=list(visit.reactions.all()),
            steps=[row for row in steps if row.pk not in replaced and not row.is_taken_back],
        ).joined()
    )


def of_records(records: Records) -> VisitRecord:
    """Return a visit as its records tell it, without asking the database."""
    bowls = [state_of(bowl) for bowl in records.bowls]
    seen = [row for row in records.results if row.is_looked_at]
    toned = toned_groups(bowls, records.choices, seen)
    decided = selectors.latest_of(sorted(records.formulas, key=lambda row: -row.pk))
    touched = selectors.zones_covered(group.zones for group in toned)
    groups = [
        GroupRecord(
            group.zones,
            group.place,
            group.formula,
            group.bowls,
            group.result if group.is_result_current else None,
        )
        for group in toned
    ] + _untouched(records.choices, decided, touched)
    order = list(zones.IN_ORDER)
    used = {state.formula.pk for state in bowls if state.was_on}
    groups.sort(key=lambda group: order.index(zones.Group(group.zones).first))
    return VisitRecord(
        records.visit,
        _once_each(groups),
        steps=records.steps,
        unmixed=[row for row in decided if row.pk not in used],
        unused=[state for state in bowls if not state.was_on],
        reaction=records.reaction,
    )


def _once_each(groups: Sequence[GroupRecord]) -> list[GroupRecord]:
    """Return the groups, each knowing which others its bowls were on."""
    served: dict[int, list[str]] = {}
    for group in groups:
        for state in group.bowls:
            served.setdefault(state.bowl.pk, []).append(group.zones)
    return [replace(group, served=served) for group in groups]


def _untouched(
    choices: Sequence[Choice], decided: Sequence[Formula], touched: set[str]
) -> list[GroupRecord]:
    """Return the zones of the latest choice that no bowl was on, with what was decided."""
    groups = []
    for place in choices[-1].places.all() if choices else ():
        left = [zone for zone in zones.Group(place.zones).members if zone not in touched]
        if left:
            formula = next(
                (f for f in decided if left[0] in zones.Group(f.zones).members), None
            )
            groups.append(GroupRecord(zones.Group.of(left), place, formula, (), None))
    return groups
