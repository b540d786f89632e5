"""What results say of a line's strengths: a proposal as plain data, nothing applied."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace

from formulas import engine, engine_inputs
from formulas.engine_inputs import ZoneInput
from formulas.models import ProductLine

FEWEST_RESULTS = 5  # below that the prior decides nearly everything (model assumption)


@dataclass(frozen=True)
class Result:
    """One group of zones as it was read, toned and seen."""

    zone: ZoneInput
    parts: tuple[tuple[str, float], ...]
    minutes: float
    level: float
    warmth_left_percent: float


@dataclass(frozen=True)
class Refined:
    """One shade's strength: as it stands, as results speak for it, and its range."""

    pk: int
    name: str
    now: float
    proposed: float
    low: float
    high: float

    @property
    def change_percent(self) -> float:
        """How much stronger (positive) or weaker than it stands."""
        return (self.proposed / self.now - 1.0) * 100.0


@dataclass(frozen=True)
class Proposal:
    """Refined strengths with what predictions missed before, and left out one by one after."""

    results: int
    shades: tuple[Refined, ...]
    before: engine.Miss | None
    after: engine.Miss | None

    @property
    def is_better(self) -> bool:
        """Whether results left out are predicted better than by what stands."""
        return (
            self.results >= FEWEST_RESULTS
            and self.before is not None
            and self.after is not None
            and self.after.together < self.before.together
        )

    @property
    def key(self) -> str:
        """What tells this proposal from one on other results."""
        told = [(one.pk, round(one.now, 6), round(one.proposed, 4)) for one in self.shades]
        return hashlib.sha256(json.dumps([self.results, told]).encode()).hexdigest()[:16]


def propose(*, line: ProductLine, results: Sequence[Result]) -> Proposal:
    """Return refined strengths of a line; what a result lacks leaves it out."""
    ground = engine_inputs.ground_of(line)
    if ground.whole is None or not results:
        return Proposal(0, (), None, None)
    names = set(ground.whole.names)
    known = [one for one in results if {name for name, _part in one.parts} <= names]
    if not known:
        return Proposal(0, (), None, None)
    seen = [
        engine.Observed(
            ground.zone(one.zone),
            dict(one.parts),
            one.minutes,
            None,
            None,
            one.level,
            one.warmth_left_percent,
        )
        for one in known
    ]
    own = replace(
        ground.whole,
        shades=tuple(replace(shade, strength=1.0) for shade in ground.whole.shades),
    )
    learned = engine.learn(own, seen, chart=ground.chart)
    stands = engine.learn(ground.whole, seen, chart=ground.chart).before
    rows = {row.name: row for row in line.shades.all()}
    shades = tuple(
        Refined(
            rows[name].pk,
            name,
            rows[name].strength,
            round(learned.strengths[name].value, 4),
            learned.strengths[name].low,
            learned.strengths[name].high,
        )
        for name in sorted(learned.used)
    )
    return Proposal(len(known), shades, stands, learned.after)
