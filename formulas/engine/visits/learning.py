"""Learn from results how strong each shade is here, and whose the rest of the error is.

One hierarchical model (`hierarchy`) is fitted twice: with the strengths in use held, and with
strengths free. Only the second's gain over the first is the strengths' own, since both know the
habits of salon, readers and clients. Each client's results are predicted from the other
clients', and new strengths are worth offering only where depth and warmth both get better by
more than chance would. A pure function: results in, findings with their doubt out; whether
they are put to use is for the owner to decide.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from formulas.engine.hair.chart import Chart
from formulas.engine.light.grid import Array
from formulas.engine.prediction.doubts import Doubts
from formulas.engine.prediction.ranged import COVERAGE, Ranged
from formulas.engine.toner.lines import Line
from formulas.engine.visits.calibration import range_factor
from formulas.engine.visits.findings import Habit, Miss
from formulas.engine.visits.hierarchy import Fitted, fit
from formulas.engine.visits.observing import Observed
from formulas.engine.visits.table import Table, tabulated

# A gain counts where depth and warmth each gain so many standard errors over clients, both
# together more, and both this share of their error; fewer clients cannot show one (model
# assumptions: of 40 simulated salons without a true difference at most one is offered any).
CLEAR_GAIN, CLEAR_TOGETHER, LEAST_GAIN, FEWEST_CLIENTS = 1.2, 2.0, 0.02, 5
WHOSE = ("salon", "readers", "strengths", "clients", "rest")
_GROUPS: Mapping[str, tuple[str, ...]] = {
    "salon": ("salon level", "salon warmth"),
    "readers": ("reader level", "reader warmth", "start level"),
    "strengths": ("line", "shade"),
    "clients": ("client",),
}


@dataclass(frozen=True)
class Learned:
    """What results say about a line.

    Attributes
    ----------
    results, clients : int
        How many it rests on. [count]
    strengths : mapping of shade name to Ranged
        Factor on the shade's load, 1 for the line's own; about 19 in 20 lie in the range.
    line : Ranged
        The factor that all shades share; part of `strengths`.
    doubts : Doubts
        For `predict` with the strengths learned, with what results say of its ranges.
    doubts_in_use : Doubts
        Those given, with what results say of ranges around the strengths in use.
    salon : Habit
        How results come out here, whoever reads.
    readers : mapping of reader to Habit
        By how much each reads differently from the rest.
    takes : mapping of client to Ranged
        Factor on what each client's hair takes.
    shares : mapping of "salon", "readers", "strengths", "clients", "rest" to (depth, warmth)
        Whose the error of the line's own data is, adding up to 1. [unitless]
    before, after : Miss or None
        What the strengths in use and the learned ones miss where each client is predicted from
        the others, with everybody's habits taken out. None without results.
    unlearned : Miss or None
        The same of the line's own data.
    used : frozenset of str
        Shades that results speak of.
    gains : (depth, warmth)
        How much better the learned strengths predict, in standard errors over clients.
    """

    results: int
    clients: int
    strengths: Mapping[str, Ranged[float]]
    line: Ranged[float]
    doubts: Doubts
    doubts_in_use: Doubts
    salon: Habit
    readers: Mapping[str, Habit] = field(default_factory=dict)
    takes: Mapping[str, Ranged[float]] = field(default_factory=dict)
    shares: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    before: Miss | None = None
    after: Miss | None = None
    unlearned: Miss | None = None
    used: frozenset[str] = field(default_factory=frozenset)
    gains: tuple[float, float] = (0.0, 0.0)

    @property
    def improves(self) -> bool:
        """Whether clients left out are predicted better, beyond noise, depth and warmth."""
        if self.before is None or self.after is None or self.clients < FEWEST_CLIENTS:
            return False
        better = (
            self.after.levels <= (1.0 - LEAST_GAIN) * self.before.levels
            and self.after.warmth_percent <= (1.0 - LEAST_GAIN) * self.before.warmth_percent
        )
        together = sum(self.gains) / np.sqrt(2.0)
        return bool(better and min(self.gains) >= CLEAR_GAIN and together >= CLEAR_TOGETHER)

    def factors(self) -> dict[str, float]:
        """Return strengths by name of all shades, for `predict`; 1 for clear."""
        return {name: one.value for name, one in self.strengths.items()}


def learn(
    line: Line,
    results: Sequence[Observed],
    *,
    chart: Chart | None = None,
    in_use: Mapping[str, float] | None = None,
    doubts_in_use: Doubts | None = None,
) -> Learned:
    """Return what results say of a line, beside the strengths in use.

    Parameters
    ----------
    line : Line
        With its own data.
    results : sequence of Observed
        In any order; their order does not matter.
    chart : Chart, optional
    in_use : mapping of shade name to factor, optional
        Strengths that predictions use today; 1 where a name is missing.
    doubts_in_use : Doubts, optional
        Those that predictions use today.

    Raises
    ------
    ValueError
        If a result names a shade that the line lacks, or a number is out of range.
    """
    chart = chart or Chart.default()
    used = {name for result in results for name in line.resolved(result.parts)}
    if not results:
        return _nothing(line)
    spoken = replace(line, shades=tuple(s for s in line.shades if s.name in used))
    table = tabulated(spoken, results, chart)
    own = np.zeros(len(spoken.shades))
    current = np.log([(in_use or {}).get(shade.name, 1.0) for shade in spoken.shades])
    learned, unlearned = fit(table), fit(table, fixed=own)
    held = unlearned if np.allclose(current, own) else fit(table, fixed=current)
    strengths, doubts = _strengths(line, learned)
    # All are weighed alike, so that no model chooses which results count for it.
    weights = np.sqrt(unlearned.weights * learned.weights)
    before, after, base = (_missed(table, fit, weights) for fit in (held, learned, unlearned))
    factors = np.array([strengths[name].value for name in spoken.names])
    known = doubts_in_use or Doubts()
    return Learned(
        len(results),
        table.clients,
        strengths,
        _factor(learned, ("line", "")),
        _with_ranges(table, learned, spoken, factors, doubts),
        _with_ranges(table, held, spoken, np.exp(current), known),
        _habit(learned, "salon", "", len(results)),
        {
            reader: _habit(
                learned, "reader", reader, sum(result.reader == reader for result in results)
            )
            for reader in table.readers
        },
        _takes(learned, results, table),
        _shares(table, learned),
        before,
        after,
        base,
        frozenset(used),
        _gains(table, held, learned, weights),
    )


def _with_ranges(
    table: Table, fitted: Fitted, line: Line, strengths: Array, doubts: Doubts
) -> Doubts:
    own = np.array([doubts.of(shade) for shade in line.shades])
    depth, warmth = range_factor(table, fitted, strengths, own, doubts.deposit)
    return replace(doubts, depth_factor=depth, warmth_factor=warmth)


def _nothing(line: Line) -> Learned:
    doubts = Doubts()
    none = Ranged(0.0, 0.0, 0.0)
    strengths = {
        s.name: _range(0.0, float(np.hypot(doubts.of(s), doubts.line if doubts.of(s) else 0)))
        for s in line.shades
    }
    own = Habit(0, none, none, none)
    return Learned(0, 0, strengths, _range(0.0, doubts.line), doubts, doubts, own)


def _range(log: float, doubt: float) -> Ranged[float]:
    low, value, high = np.exp(log + COVERAGE * doubt * np.array([-1.0, 0.0, 1.0]))
    return Ranged(float(value), float(low), float(high))


def _estimate(fitted: Fitted, *columns: tuple[str, str]) -> tuple[float, float]:
    """Return the sum of some terms, and its standard doubt."""
    known = [fitted.columns.index(c) for c in columns if c in fitted.columns]
    variance = fitted.covariance[np.ix_(known, known)].sum()
    return float(fitted.mean[known].sum()), float(np.sqrt(max(variance, 0.0)))


def _factor(fitted: Fitted, *columns: tuple[str, str]) -> Ranged[float]:
    return _range(*_estimate(fitted, *columns))


def _strengths(line: Line, fitted: Fitted) -> tuple[dict[str, Ranged[float]], Doubts]:
    """Return every shade's strength; one without results shares the line's."""
    strengths: dict[str, Ranged[float]] = {}
    doubts: dict[str, float] = {}
    for shade in line.shades:
        if shade.is_clear:
            strengths[shade.name] = _range(0.0, 0.0)
            continue
        middle, doubt = _estimate(fitted, ("line", ""), ("shade", shade.name))
        if ("shade", shade.name) not in fitted.columns:
            doubt = float(np.hypot(doubt, Doubts().of(shade)))
        strengths[shade.name] = _range(middle, doubt)
        doubts[shade.name] = min(doubt, 0.5)
    # What the shades share is in each one's doubt already.
    return strengths, Doubts(doubts, line=0.0, take=min(fitted.spread["client"], 0.5))


def _habit(fitted: Fitted, group: str, name: str, results: int) -> Habit:
    def ranged(kind: str) -> Ranged[float]:
        middle, doubt = _estimate(fitted, (kind, name))
        return Ranged(middle, middle - COVERAGE * doubt, middle + COVERAGE * doubt)

    return Habit(
        results, ranged(f"{group} level"), ranged(f"{group} warmth"), ranged("start level")
    )


def _takes(
    fitted: Fitted, results: Sequence[Observed], table: Table
) -> dict[str, Ranged[float]]:
    numbers = {name: n for n, name in enumerate(table.names)}
    named = sorted({result.client for result in results if result.client})
    return {name: _factor(fitted, ("client", str(numbers[name]))) for name in named}


def _missed(table: Table, fitted: Fitted, weights: Array) -> Miss:
    """Return what a model misses of clients left out, results (n,) weighed."""
    found = []
    for channel in (0, 1):
        rows = table.channel == channel
        squares = weights[table.owner[rows]] * fitted.held_out[rows] ** 2
        found.append(float(np.sqrt(squares.sum() / max(int(rows.sum()), 1))))
    return Miss(*found)


def _gains(table: Table, held: Fitted, learned: Fitted, weights: Array) -> tuple[float, float]:
    """Return how much less is missed, depth and warmth, in standard errors over clients."""
    owner = table.client[table.owner]
    found = []
    for channel in (0, 1):
        rows = table.channel == channel
        squares = held.held_out[rows] ** 2 - learned.held_out[rows] ** 2
        scaled = weights[table.owner[rows]] * squares / learned.rest[rows] ** 2
        gain = np.bincount(owner[rows], scaled, minlength=table.clients)
        error = float(np.std(gain)) * np.sqrt(len(gain))
        found.append(float(gain.sum() / error) if error > 0 else 0.0)
    return found[0], found[1]


def _shares(table: Table, fitted: Fitted) -> dict[str, tuple[float, float]]:
    """Return whose the error is: each term's part of the sum of squares."""
    parts: dict[str, Array] = {whose: fitted.part(*groups) for whose, groups in _GROUPS.items()}
    parts["rest"] = fitted.left
    found: dict[str, list[float]] = {whose: [] for whose in WHOSE}
    for channel in (0, 1):
        rows = table.channel == channel
        squares = {whose: float((parts[whose][rows] ** 2).sum()) for whose in WHOSE}
        total = max(sum(squares.values()), 1e-12)
        for whose in WHOSE:
            found[whose].append(squares[whose] / total)
    return {whose: (level, warmth) for whose, (level, warmth) in found.items()}
