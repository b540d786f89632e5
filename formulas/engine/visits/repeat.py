"""Do it again in six weeks, or better: from the last visits to the next mix.

Toner that the washes left lies under the next one, so the same mix repeated comes out cooler
and deeper each time (build-up). What each visit's result was tells besides how much this hair
takes against the model: one factor, with "as the model says" as its prior. From both follow
what the same mix would give now, the mix that gives the wanted look from here, and the same
mix shorter or thinner.

Every look is read by one judge, that of the hair as it is now: percentages are of the warmth
that the client sees today.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from formulas.engine import checks
from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.chart import Chart
from formulas.engine.prediction.candidates import Candidate
from formulas.engine.prediction.explain import Sentence
from formulas.engine.prediction.single import Adjusted, read_mix, shorter, thinner
from formulas.engine.search.ranking import Ranked, rank
from formulas.engine.search.search import search
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Residual, Zone
from formulas.engine.visits.observing import Observation, Observed, observation
from formulas.engine.visits.visits import Visit, left_over

# Relative standard doubt of how much one client's hair takes (model assumption).
TAKE_DOUBT = 0.2
# What counts as the same again: half a step of the eye in depth, and in warmth.
SAME_LEVELS, SAME_PERCENT = 0.25, 8.0
# From where on build-up is named. [levels]
BUILD_UP_LEVELS = 0.15
_VISITS_AHEAD = 3


@dataclass(frozen=True)
class Repeat:
    """What to do at the next visit.

    Attributes
    ----------
    kind : str
        "repeat": the same mix gives the wanted look again; "correct": it takes another one.
    aim : float
        Warmth wanted, of what the client sees now. [%]
    residual : Residual or None
        Toner of all visits that is still present; for the zone of the next prediction.
    take : float
        How much this hair takes against the model, 1 as the model says. [unitless]
    last, same : Candidate
        What the last visit gave, and what its mix would give now.
    best : Ranked
        The mix that comes nearest to the wanted look from here.
    shorter, thinner : Adjusted or None
        The same mix for a shorter time, or with clear, where that comes nearer.
    ahead : tuple of Candidate
        What the same mix gives now and at the visits after, each after as many washes.
    sentences : tuple of Sentence
    """

    kind: str
    aim: float
    residual: Residual | None
    take: float
    last: Candidate
    same: Candidate
    best: Ranked
    shorter: Adjusted | None
    thinner: Adjusted | None
    ahead: tuple[Candidate, ...]
    sentences: tuple[Sentence, ...]


def repeat(
    visits: Sequence[Visit],
    line: Line,
    *,
    zone: Zone | None = None,
    aim: float | None = None,
    chart: Chart | None = None,
    strengths: Mapping[str, float] | None = None,
    **how: Any,
) -> Repeat:
    """Return how to repeat or correct the last visit.

    Parameters
    ----------
    visits : sequence of Visit
        All with this line, the oldest first; at least one.
    line : Line
    zone : Zone, optional
        The hair as read now, beneath any toner; the last visit's if left out.
    aim : float, optional
        Warmth wanted, of what the client sees now; the last visit's look if left out. [%]
    chart, strengths : optional
        See `predict`.
    **how
        As `search` takes them: grams_in_stock, bowl_grams, max_parts, ...

    Raises
    ------
    ValueError
        If there is no visit, a shade is unknown or a number is out of range.
    """
    if not visits:
        raise ValueError("visits needs at least one visit, given none")
    chart = chart or Chart.default()
    past = _Past(visits, line, chart, dict(strengths or {}))
    now = past.zone_after(len(visits), zone or visits[-1].zone)
    judge = past.judge(now)
    last = past.look(judge, past.zone_after(len(visits) - 1, visits[-1].zone), visits[-1])
    same = past.look(judge, now, visits[-1])
    ahead = past.ahead(judge, now)
    wanted = past.seen_warmth(judge, last) if aim is None else aim
    wanted = checks.number(wanted, name="aim", unit="% warmth", low=-400, high=400)
    way: dict[str, Any] = {
        "minutes": visits[-1].minutes, "chart": chart, "strengths": past.strengths,
    }  # fmt: skip
    best = rank(search(now, line, **way, **how), [wanted], k=1)[0][0]
    too_cool = same.warmth_left_percent < wanted
    off = abs(same.warmth_left_percent - wanted)
    deeper = same.levels_deeper_looks - last.levels_deeper_looks
    again = off <= SAME_PERCENT and (aim is not None or abs(deeper) <= SAME_LEVELS)
    return Repeat(
        "repeat" if again else "correct",
        wanted,
        now.residual,
        past.take,
        last,
        same,
        best,
        shorter(now, line, visits[-1].parts, aim=wanted, **way) if too_cool else None,
        thinner(now, line, visits[-1].parts, aim=wanted, **way) if too_cool else None,
        ahead,
        _sentences(again, past.take, ahead),
    )


class _Past:
    """The visits so far: what is left of them, and how much this hair takes."""

    def __init__(
        self, visits: Sequence[Visit], line: Line, chart: Chart, strengths: dict[str, float]
    ) -> None:
        self.visits, self.line, self.chart = visits, line, chart
        self.take, self.strengths = 1.0, strengths
        # What is left of earlier visits depends on the take, too: a second round settles it.
        for _ in range(2):
            self.take = self._take(strengths)
            self.strengths = {n: self.take * strengths.get(n, 1.0) for n in line.names}

    def zone_after(self, count: int, hair: Zone, *, again: int = 0) -> Zone:
        """Return hair with the toner of `count` visits, and of the last one `again` times."""
        done = [*self.visits[:count], *[self.visits[-1]] * again]
        return replace(
            hair,
            residual=left_over(
                done, self.line, hair, strengths=self.strengths, chart=self.chart
            ),
        )

    def judge(self, zone: Zone) -> Judge:
        """Return the judge of a zone as the client sees it."""
        return observation(
            self.line, Observed(zone, {self.line.names[0]: 1.0}, level=5.0), self.chart
        ).judge

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

    def seen_warmth(self, judge: Judge, last: Candidate) -> float:
        """Return the last visit's warmth as it was seen, or else as the model has it."""
        visit = self.visits[-1]
        if visit.lab is not None:
            return float(judge.warmth_left_percent(np.asarray(visit.lab, float)))
        if visit.warmth_left_percent is None:
            return last.warmth_left_percent
        then = self.judge(self.zone_after(len(self.visits) - 1, visit.zone))
        return visit.warmth_left_percent * then.starting_warmth / judge.starting_warmth

    def ahead(self, judge: Judge, now: Zone) -> tuple[Candidate, ...]:
        """Return what the last mix gives now and at the visits after."""
        count = len(self.visits)
        zones = [self.zone_after(count, now, again=n) for n in range(_VISITS_AHEAD)]
        return tuple(self.look(judge, zone, self.visits[-1]) for zone in zones)

    def _take(self, strengths: Mapping[str, float]) -> float:
        """Return the factor on every deposit that agrees best with the results noted."""
        seen: list[Observation] = []
        for n, visit in enumerate(self.visits):
            result = visit.seen_on(self.zone_after(n, visit.zone))
            if result is not None:
                seen.append(observation(self.line, result, self.chart))
        known = np.array([strengths.get(name, 1.0) for name in self.line.names])
        logs = np.linspace(-0.7, 0.7, 281)
        cost = (logs / TAKE_DOUBT) ** 2
        for one in seen:
            cost += (one.missed(np.exp(logs)[:, None] * known) ** 2).sum(axis=-1)
        return float(np.exp(logs[cost.argmin()]))


def _sentences(again: bool, take: float, ahead: Sequence[Candidate]) -> tuple[Sentence, ...]:
    said = []
    if again:
        said.append(Sentence("repeat", "The same mix gives the same look again."))
    else:
        said.append(
            Sentence("correct", "The same mix would not give that look now: correct it.")
        )
    deeper = ahead[-1].levels_deeper_looks - ahead[0].levels_deeper_looks
    if deeper >= BUILD_UP_LEVELS:
        text = (
            f"Repeated each time it builds up: in {len(ahead) - 1} more visits it would look "
            f"{deeper:.1f} levels deeper than this time."
        )
        values = {"levels": deeper, "visits": len(ahead) - 1}
        said.append(Sentence("repeat_builds_up", text, values))
    if abs(np.log(take)) >= 0.1:
        percent = 100.0 * abs(take - 1.0)
        code, word = ("takes_more", "more") if take > 1 else ("takes_less", "less")
        text = f"This hair took about {percent:.0f} % {word} than usual."
        said.append(Sentence(code, text, {"percent": percent}))
    return tuple(said)
