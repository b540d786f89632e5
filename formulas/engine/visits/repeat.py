"""What earlier visits mean for the next one: what is left, how much this hair takes.

Toner that the washes left lies under the next one, so the same mix repeated comes out cooler
and deeper each time (build-up). What each visit's result was tells besides how much this hair
takes against the model: one factor, with "as the model says" as its prior and heavy tails, so
that one odd result moves it little. Both go into the zone that the next mix is searched for.

Every look is read by one judge, that of the hair as it is now: percentages are of the warmth
that the client sees today.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.chart import Chart
from formulas.engine.light.grid import Array
from formulas.engine.prediction.candidates import Candidate
from formulas.engine.prediction.doubts import TAKE_DOUBT
from formulas.engine.prediction.explain import Sentence, about_take
from formulas.engine.prediction.numbers import judge_of
from formulas.engine.prediction.ranged import COVERAGE, Ranged
from formulas.engine.prediction.single import read_mix
from formulas.engine.search.weighing import LEVELS_UNIT, PERCENT_UNIT
from formulas.engine.toner.deposit import prepare
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone
from formulas.engine.visits.hierarchy import REST, TAILS
from formulas.engine.visits.observing import Beds, noted
from formulas.engine.visits.visits import Visit, left_over

# What counts as the same again: what an eye lets pass.
SAME_LEVELS, SAME_PERCENT = LEVELS_UNIT, PERCENT_UNIT
# From where on build-up is named. [levels]
BUILD_UP_LEVELS = 0.15
_VISITS_AHEAD = 3
_LOGS: Array = np.linspace(-0.6, 0.6, 241)


@dataclass(frozen=True)
class Repeat:
    """What earlier visits say.

    Attributes
    ----------
    again : bool
        Whether the same mix gives the same look again.
    zone : Zone
        The hair now, with the toner of all visits that is left and what this hair takes: for
        `predict` and `search`.
    take : Ranged
        How much this hair takes against the model, 1 as the model says; about 19 in 20 lie in
        the range. [unitless]
    results : int
        How many results it rests on. [count]
    last, same : Candidate
        What the last visit gave, and what its mix would give now.
    ahead : tuple of Candidate
        What the same mix gives now and at the visits after, each after as many washes.
    sentences : tuple of Sentence
    """

    again: bool
    zone: Zone
    take: Ranged[float]
    results: int
    last: Candidate
    same: Candidate
    ahead: tuple[Candidate, ...]
    sentences: tuple[Sentence, ...]

    @property
    def take_doubt(self) -> float:
        """Relative standard doubt of the take. [unitless]"""
        return float(np.log(self.take.high / self.take.low) / (2.0 * COVERAGE))


def repeat(
    visits: Sequence[Visit],
    line: Line,
    *,
    zone: Zone | None = None,
    chart: Chart | None = None,
    strengths: Mapping[str, float] | None = None,
) -> Repeat:
    """Return what earlier visits mean for the next.

    Parameters
    ----------
    visits : sequence of Visit
        All with this line, the oldest first; at least one.
    line : Line
    zone : Zone, optional
        The hair as read now, beneath any toner; the last visit's if left out.
    chart, strengths : optional
        See `predict`.

    Raises
    ------
    ValueError
        If there is no visit, a shade is unknown or a number is out of range.
    """
    if not visits:
        raise ValueError("visits needs at least one visit, given none")
    used = {name for visit in visits for name in line.resolved(visit.parts)}
    past = _Past(
        visits,
        replace(line, shades=tuple(shade for shade in line.shades if shade.name in used)),
        chart or Chart.default(),
        strengths or {},
    )
    now = past.zone_after(len(visits), zone or visits[-1].zone)
    judge = past.judge(now)
    last = past.look(judge, past.zone_after(len(visits) - 1, visits[-1].zone), visits[-1])
    ahead = past.ahead(judge, now)
    same = ahead[0]
    again = (
        abs(same.warmth_left_percent - last.warmth_left_percent) <= SAME_PERCENT
        and abs(same.levels_deeper_looks - last.levels_deeper_looks) <= SAME_LEVELS
    )
    return Repeat(
        again,
        now,
        past.take,
        past.results,
        last,
        same,
        ahead,
        (*_sentences(again, ahead), *about_take(past.take.value)),
    )


class _Past:
    """The visits so far: what is left of them, and how much this hair takes."""

    def __init__(
        self, visits: Sequence[Visit], line: Line, chart: Chart, strengths: Mapping[str, float]
    ) -> None:
        self.visits, self.line, self.chart, self.strengths = visits, line, chart, strengths
        self.take, self.results = Ranged(1.0, 1.0, 1.0), 0
        # What is left of earlier visits depends on the take, too: a second round settles it.
        for _ in range(2):
            self._find_take()

    def zone_after(self, count: int, hair: Zone, *, again: int = 0) -> Zone:
        """Return hair with the toner of `count` visits, and of the last one `again` times."""
        done = [*self.visits[:count], *[self.visits[-1]] * again]
        laid = {
            name: self.take.value * self.strengths.get(name, 1.0) for name in self.line.names
        }
        left = left_over(done, self.line, hair, strengths=laid, chart=self.chart)
        return replace(hair, residual=left, take=self.take.value)

    def judge(self, zone: Zone) -> Judge:
        """Return the judge of a zone as the client sees it."""
        return judge_of(prepare(zone, self.line, chart=self.chart), self.chart)

    def look(self, judge: Judge, zone: Zone, visit: Visit) -> Candidate:
        """Return what a visit's mix gives on a zone, read by `judge`."""
        mix = read_mix(
            zone, self.line, visit.parts,
            minutes=visit.minutes, chart=self.chart, strengths=self.strengths,
        )  # fmt: skip
        lab = np.array(mix.lab)
        return Candidate(
            mix.parts,
            float(judge.warmth_left_percent(lab)),
            float(judge.levels_deeper_measured(lab)),
            float(judge.levels_deeper_looks(lab)),
            float(judge.cast(lab)),
            mix.lab,
        )

    def ahead(self, judge: Judge, now: Zone) -> tuple[Candidate, ...]:
        """Return what the last mix gives now and at the visits after."""
        count = len(self.visits)
        zones = [self.zone_after(count, now, again=n) for n in range(_VISITS_AHEAD)]
        return tuple(self.look(judge, zone, self.visits[-1]) for zone in zones)

    def _find_take(self) -> None:
        """Set the take to its mean over what prior and results together allow."""
        pairs = [(n, v.seen_on(self.zone_after(n, v.zone))) for n, v in enumerate(self.visits)]
        seen = [replace(o, zone=replace(o.zone, take=1.0)) for _n, o in pairs if o is not None]
        self.results = len(seen)
        cost = (_LOGS / TAKE_DOUBT) ** 2 / 2.0
        if seen:
            batch = Beds(self.line, self.chart).batch(seen)
            known = np.array([self.strengths.get(name, 1.0) for name in self.line.names])
            scales = np.broadcast_to(
                np.exp(_LOGS)[:, None] * known, (len(seen), len(_LOGS), len(known))
            )
            missed = noted(batch, seen)[:, None] - batch.predicted(scales)
            rest = np.array([(*REST[result.lab is not None], np.inf)[:3] for result in seen])
            squares = np.nan_to_num((missed / rest[:, None]) ** 2)
            count = (~np.isnan(noted(batch, seen))).sum(axis=1)[:, None]
            cost = cost + ((TAILS + count) / 2.0 * np.log1p(squares.sum(axis=-1) / TAILS)).sum(
                axis=0
            )
        weight = np.exp(cost.min() - cost)
        weight /= weight.sum()
        middle = float(weight @ _LOGS)
        doubt = float(np.sqrt(weight @ (_LOGS - middle) ** 2)) if seen else TAKE_DOUBT
        low, value, high = np.exp(middle + COVERAGE * doubt * np.array([-1.0, 0.0, 1.0]))
        self.take = Ranged(float(value), float(low), float(high))


def _sentences(again: bool, ahead: Sequence[Candidate]) -> tuple[Sentence, ...]:
    found = []
    if again:
        found.append(Sentence("repeat", "The same mix gives the same look again."))
    else:
        found.append(
            Sentence("correct", "The same mix would not give that look now: correct it.")
        )
    deeper = ahead[-1].levels_deeper_looks - ahead[0].levels_deeper_looks
    if deeper >= BUILD_UP_LEVELS:
        text = (
            f"Repeated each time it builds up: in {len(ahead) - 1} more visits it would look "
            f"{deeper:.1f} levels deeper than this time."
        )
        values = {"levels": deeper, "visits": len(ahead) - 1}
        found.append(Sentence("repeat_builds_up", text, values))
    return tuple(found)
