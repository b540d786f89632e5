"""What results say of a line's strengths and ranges: a proposal; nothing is applied."""

import hashlib
import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from formulas import engine, engine_inputs
from formulas.engine_inputs import ZoneInput
from formulas.models import ProductLine

FEWEST_RESULTS = 5  # below that the prior decides nearly everything (model assumption)
# Ranges are offered from so many results, where they change by this share (assumption).
FEWEST_FOR_RANGES, RANGE_CHANGE = 20, 0.1
# A reader's habit is named from half a step of the eye on, where it is no chance.
SIGNIFICANT_LEVELS, SIGNIFICANT_WARMTH = 0.1, 4.0


@dataclass(frozen=True)
class Result:
    """One group of zones as it was read, toned and seen, and by whom.

    `client`, `reader` and `zone_reader` are keys: of the client, of who saw the result, of who
    read the zone. Empty where it is not known.
    """

    zone: ZoneInput
    parts: tuple[tuple[str, float], ...]
    minutes: float
    level: float
    warmth_left_percent: float
    client: str = ""
    reader: str = ""
    zone_reader: str = ""


@dataclass(frozen=True)
class Refined:
    """One shade's strength: in use, as results speak for it, and its range."""

    pk: int
    name: str
    now: float
    proposed: float
    low: float
    high: float
    results: int

    @property
    def change_percent(self) -> float:
        """How much stronger (positive) or weaker than the one in use."""
        return (self.proposed / self.now - 1.0) * 100.0


@dataclass(frozen=True)
class ReaderHabit:
    """How one reader differs from the rest, by the reader's key."""

    reader: str
    habit: engine.Habit

    @property
    def is_significant(self) -> bool:
        """Whether it is large enough to matter and no chance."""
        return any(
            abs(number.value) >= least and not number.low <= 0.0 <= number.high
            for number, least in (
                (self.habit.level, SIGNIFICANT_LEVELS),
                (self.habit.warmth_percent, SIGNIFICANT_WARMTH),
            )
        )


@dataclass(frozen=True)
class Proposal:
    """Refined strengths with what predictions missed before and after, clients left out.

    `depth_now` and `depth_then`, `warmth_now` and `warmth_then` are factors on the ranges.
    """

    results: int
    shades: tuple[Refined, ...]
    learned: engine.Learned | None = None
    readers: tuple[ReaderHabit, ...] = ()
    is_better: bool = False
    doubts: Mapping[str, object] = field(default_factory=dict)
    ranges: engine.Doubts = field(default_factory=engine.Doubts)
    ranges_now: engine.Doubts = field(default_factory=engine.Doubts)

    @property
    def before(self) -> engine.Miss | None:
        """What the strengths in use miss."""
        return self.learned.before if self.learned else None

    @property
    def after(self) -> engine.Miss | None:
        """What the refined strengths miss."""
        return self.learned.after if self.learned else None

    @property
    def unlearned(self) -> engine.Miss | None:
        """What the line's own strengths miss."""
        return self.learned.unlearned if self.learned else None

    @property
    def used(self) -> list[Refined]:
        """The shades that results speak of."""
        return [shade for shade in self.shades if shade.results]

    @property
    def others(self) -> Refined | None:
        """One of the shades without results: all share the line's strength."""
        return next((shade for shade in self.shades if not shade.results), None)

    @property
    def changes_ranges(self) -> bool:
        """Whether results ask for ranges of another width."""
        pairs = (
            (self.ranges.depth_factor, self.ranges_now.depth_factor),
            (self.ranges.warmth_factor, self.ranges_now.warmth_factor),
        )
        return self.results >= FEWEST_FOR_RANGES and any(
            abs(then / now - 1.0) >= RANGE_CHANGE for then, now in pairs
        )

    @property
    def is_offered(self) -> bool:
        """Whether there is something to put to use."""
        return self.is_better or self.changes_ranges

    @property
    def key(self) -> str:
        """What tells this proposal from one on other results."""
        shades = [
            (shade.pk, round(shade.now, 6), round(shade.proposed, 4)) for shade in self.shades
        ]
        text = json.dumps([self.results, self.is_better, shades, self.doubts], sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:16]


def propose(*, line: ProductLine, results: Sequence[Result]) -> Proposal:
    """Return refined strengths and ranges of a line; results of unknown shades are left out."""
    ground = engine_inputs.ground_of(line)
    names = set(ground.whole.names) if ground.whole else set()
    known = [result for result in results if {name for name, _part in result.parts} <= names]
    if ground.whole is None or not known:
        return Proposal(0, ())
    learned = _learned(ground, tuple(known))
    better = len(known) >= FEWEST_RESULTS and learned.improves
    ranges = learned.doubts if better else learned.doubts_in_use
    pks = {row.name: row.pk for row in line.shades.all()}
    return Proposal(
        len(known),
        _refined(ground.whole, learned, pks, known),
        learned,
        tuple(ReaderHabit(reader, habit) for reader, habit in learned.readers.items()),
        better,
        engine_inputs.doubts_to_keep(ranges, pks),
        ranges,
        ground.doubts,
    )


@lru_cache(maxsize=8)
def _learned(ground: engine_inputs.Ground, results: tuple[Result, ...]) -> engine.Learned:
    """Return the fit; it takes most of a second, and the same results give the same one."""
    whole = ground.whole
    if whole is None:
        raise ValueError("ground: a line without shades has nothing to learn")
    neutral_line = replace(
        whole, shades=tuple(replace(shade, strength=1.0) for shade in whole.shades)
    )
    return engine.learn(
        neutral_line,
        [_observed(ground, result) for result in results],
        chart=ground.chart,
        in_use={shade.name: shade.strength for shade in whole.shades},
        doubts_in_use=ground.doubts,
    )


def _observed(ground: engine_inputs.Ground, result: Result) -> engine.Observed:
    return engine.Observed(
        ground.zone(result.zone),
        dict(result.parts),
        result.minutes,
        level=result.level,
        warmth_left_percent=result.warmth_left_percent,
        client=result.client,
        reader=result.reader,
        zone_reader=result.zone_reader,
    )


def _refined(
    line: engine.Line,
    learned: engine.Learned,
    pks: Mapping[str, int],
    results: Sequence[Result],
) -> tuple[Refined, ...]:
    """Return every shade that carries pigment; those without results share the line's."""
    count = Counter(name for result in results for name, _part in result.parts)
    return tuple(
        Refined(
            pks[shade.name],
            shade.name,
            shade.strength,
            round(learned.strengths[shade.name].value, 4),
            learned.strengths[shade.name].low,
            learned.strengths[shade.name].high,
            count[shade.name],
        )
        for shade in sorted(line.shades, key=lambda shade: shade.name)
        if not shade.is_clear
    )
