"""Everything that was recorded in one visit."""

from collections.abc import Sequence
from dataclasses import dataclass

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
