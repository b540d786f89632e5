"""What a visit's records say: what holds, what is due, and what is possible.

Stored of a visit is only whether it is open, closed or stopped. Everything else is read here
from what was answered, read, chosen, signed, decided, mixed, timed and seen, in the order in
which it happened. No database, no clock.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from clients.skin_test.gate import Gate
from consult.hair.stops import Stop
from consult.models import (
    Choice,
    Formula,
    HairFacts,
    PreTest,
    Reaction,
    ResultSeen,
    SignOff,
    Visit,
    VisitStep,
    ZoneReading,
)
from consult.visit import acts, holding
from consult.visit.bowls import UNDO_FOR, BowlState, TonedGroup, state_of, toned_groups
from consult.visit.path import BEFORE_MIXING, DUE, ORDER, Act, Step
from consult.visit.records import Records


@dataclass(frozen=True)
class StepState:
    """How far a step is.

    `holds`: what was recorded at it still counts. `has_lapsed`: something was recorded, and
    no longer counts. `is_open`: its page can be worked on. `why`: what is missing, or why it
    no longer counts; empty where it holds.
    """

    step: Step
    holds: bool
    has_lapsed: bool
    is_open: bool
    why: str


@dataclass(frozen=True)
class VisitFacts:
    """One visit as its records tell it, at one moment.

    `choice` is the latest one; `sign_off` and `formulas` are those in force: None and empty
    where the hair was read or the place chosen again since. `results` are the latest by group
    of zones, `toned` the zones that had colour on, `reaction` the latest word on one.
    """

    visit: Visit
    records: Records
    gate: Gate | None
    readings: Mapping[str, ZoneReading]
    hair: HairFacts | None
    pre_tests: Sequence[PreTest]
    steps_before: Sequence[VisitStep]
    stops: Sequence[Stop]
    choice: Choice | None
    sign_off: SignOff | None
    formulas: Sequence[Formula]
    bowls: Sequence[BowlState]
    toned: Sequence[TonedGroup]
    results: Mapping[str, ResultSeen]
    reaction: Reaction | None
    steps: Mapping[Step, StepState]
    refusals: Mapping[Act, str]
    due: Step | None

    def may(self, act: Act) -> bool:
        """Return whether something can be done now."""
        return act not in self.refusals

    def why_not(self, act: Act) -> str:
        """Return why something cannot be done now, or an empty string."""
        return self.refusals.get(act, "")

    def is_open(self, step: Step) -> bool:
        """Return whether a step's page can be worked on."""
        return self.steps[step].is_open

    @property
    def running(self) -> list[BowlState]:
        """The bowls whose colour is on the hair now."""
        return [bowl for bowl in self.bowls if bowl.is_running]

    @property
    def has_colour_on(self) -> bool:
        """Whether colour is on the hair now."""
        return bool(self.running)

    @property
    def had_colour_on(self) -> bool:
        """Whether any bowl was ever on the hair."""
        return any(bowl.was_on for bowl in self.bowls)

    def has_more_since(self, ended: dt.datetime) -> bool:
        """Return whether a result or a reaction was recorded after a rinse."""
        return bool(self.reaction) or any(
            result.seen_at >= ended for result in self.results.values()
        )

    def may_undo_rinse(self, bowl: BowlState, *, at: dt.datetime) -> bool:
        """Return whether a rinse is so fresh that it may have been pressed by mistake."""
        ended = bowl.ended_at
        return ended is not None and at < ended + UNDO_FOR and not self.has_more_since(ended)

    @property
    def lapsed(self) -> list[StepState]:
        """The steps whose records no longer count, in order."""
        return [self.steps[step] for step in ORDER if self.steps[step].has_lapsed]

    @cached_property
    def due_before_mixing(self) -> list[StepState]:
        """What has to be done before another bowl can be mixed, in order."""
        return [self.steps[step] for step in BEFORE_MIXING if not self.steps[step].holds]

    @property
    def was_lightened_since(self) -> bool:
        """Whether the hair was lightened after it was last read."""
        return self.steps[Step.HAIR].has_lapsed

    @property
    def due_label(self) -> str:
        """What is due, in words; how it ended once it has."""
        return str(DUE[self.due] if self.due else self.visit.get_status_display())


def read(records: Records) -> VisitFacts:
    """Return the facts of a visit."""
    held = holding.of(records)
    bowls = [
        state_of(bowl, current=[formula.pk for formula in held.formulas])
        for bowl in records.bowls
    ]
    toned = toned_groups(bowls, records.choices, records.results)
    refusals = acts.refusals(records, held, bowls, toned)
    steps = {
        step: StepState(
            step=step,
            holds=not held.missing[step] if step in BEFORE_MIXING else False,
            has_lapsed=step in held.lapsed,
            is_open=acts.is_open(step, records, held, bowls, refusals),
            why=held.missing.get(step, ""),
        )
        for step in ORDER
    }
    return VisitFacts(
        visit=records.visit,
        records=records,
        gate=records.gate,
        readings=held.readings,
        hair=held.hair,
        pre_tests=records.pre_tests,
        steps_before=records.steps,
        stops=held.stops,
        choice=held.choice,
        sign_off=held.sign_off,
        formulas=held.formulas,
        bowls=bowls,
        toned=toned,
        results={row.zones: row for row in records.results},
        reaction=records.reaction,
        steps=steps,
        refusals=refusals,
        due=acts.due(records, held, bowls, toned, refusals),
    )
