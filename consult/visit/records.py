"""Everything that was recorded in one visit."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

from clients.skin_test.gate import Gate
from consult.models import (
    BowlMixed,
    Choice,
    Formula,
    HairFacts,
    PreTest,
    Reaction,
    ReactionKind,
    ResultSeen,
    Visit,
    VisitEvent,
    VisitStep,
    ZoneReading,
)


@dataclass(frozen=True)
class Records:
    """Everything that was recorded in a visit, oldest first; `gate` is None once it ended."""

    visit: Visit
    events: Sequence[VisitEvent] = ()
    gate: Gate | None = None
    readings: Sequence[ZoneReading] = ()
    hair_facts: Sequence[HairFacts] = ()
    steps: Sequence[VisitStep] = ()
    pre_tests: Sequence[PreTest] = ()
    choices: Sequence[Choice] = ()
    formulas: Sequence[Formula] = ()
    bowls: Sequence[BowlMixed] = ()
    results: Sequence[ResultSeen] = ()
    reactions: Sequence[Reaction] = ()

    @property
    def reaction(self) -> Reaction | None:
        """The latest word on a reaction; None where there was none, or by mistake."""
        last = self.reactions[-1] if self.reactions else None
        return None if last is None or last.kind == ReactionKind.MISTAKE else last

    def joined(self) -> Self:
        """Give each bowl its formula and each formula its signature, as they were read."""
        signed = {
            choice.sign_off.pk: choice.sign_off
            for choice in self.choices
            if getattr(choice, "sign_off", None)
        }
        formulas = {row.pk: row for row in self.formulas}
        for formula in self.formulas:
            formula.sign_off = signed[formula.sign_off_id]
        for bowl in self.bowls:
            bowl.formula = formulas[bowl.formula_id]
        return self
