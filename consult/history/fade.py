"""How toner fades by weeks: what was seen after a toning beside what the next visit reads.

Only mid-lengths and ends count, and only where nothing lightened or cleansed them in between:
roots are new hair. Hair that shows little warmth has no percentages to compare. A reading
names what shows, in half levels, so single pairs say little.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev

from consult import zones
from consult.history import looks as look_rows
from consult.history import next_readings
from consult.history.looks import Look
from formulas.later_readings import LaterReadings, Read
from salon.models import Salon

# Weeks since toning, both ends included; the last has no end.
BINS = ((1, 3), (4, 5), (6, 7), (8, 10), (11, None))
# Fewer pairs or clients say nothing of a mean.
FEWEST_PAIRS, FEWEST_CLIENTS = 6, 3
# Past this, nobody speaks of the same toner.
MOST_WEEKS = 30


@dataclass(frozen=True)
class Pair:
    """One part of the hair after a toning and as the next visit read it.

    `lighter` is by how many levels less dark it reads, `warmer` by how many points warmer.
    """

    visit: int
    person: int
    weeks: float
    lighter: float
    warmer: float


@dataclass(frozen=True)
class Mean:
    """A mean over clients, each counted once, with its range: 19 in 20 hold the true mean."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Weeks:
    """The pairs of some weeks since toning; means only where enough of them are known."""

    first: int
    last: int | None
    pairs: Sequence[Pair]

    @property
    def clients(self) -> int:
        """How many clients they are of."""
        return len({pair.person for pair in self.pairs})

    @property
    def is_enough(self) -> bool:
        """Whether a mean says anything."""
        return len(self.pairs) >= FEWEST_PAIRS and self.clients >= FEWEST_CLIENTS

    @property
    def lighter(self) -> Mean | None:
        """By how many levels hair reads less dark again."""
        return self._mean("lighter")

    @property
    def warmer(self) -> Mean | None:
        """By how many points hair reads warmer again."""
        return self._mean("warmer")

    @property
    def visits(self) -> set[int]:
        """The visits whose toning they are of."""
        return {pair.visit for pair in self.pairs}

    def _mean(self, number: str) -> Mean | None:
        if not self.is_enough:
            return None
        of_client: dict[int, list[float]] = defaultdict(list)
        for pair in self.pairs:
            of_client[pair.person].append(getattr(pair, number))
        own = [fmean(values) for values in of_client.values()]
        return _mean_of(own)


def _mean_of(values: Sequence[float]) -> Mean:
    """Return a mean with Student's interval: few clients are less sure than many."""
    from scipy.special import stdtrit  # late: nothing else on the page needs it

    half = float(stdtrit(len(values) - 1, 0.975)) * stdev(values) / sqrt(len(values))
    mean = fmean(values)
    return Mean(mean, mean - half, mean + half)


def fade_of(looks: Iterable[Look], *, salon: Salon) -> list[Weeks]:
    """Return what some results faded to by the next visit, by weeks; a few queries."""
    pairs = _pairs([look for look in looks if look.zone != zones.Zone.ROOTS], salon)
    return [
        Weeks(
            first,
            last,
            [
                p
                for p in pairs
                if first <= round(p.weeks) and (not last or round(p.weeks) <= last)
            ],
        )
        for first, last in BINS
    ]


def _pairs(looks: Sequence[Look], salon: Salon) -> list[Pair]:
    """Return one pair for each result and next reading, zones that read alike only once."""
    plain, again = _next_readings(looks, salon), LaterReadings(salon)
    found: dict[tuple[int, Read], Pair] = {}
    for look in looks:
        if not plain[look.visit]:
            continue
        days, read = plain[look.visit]
        weeks = days / 7
        if not 0.5 <= weeks <= MOST_WEEKS:
            continue
        for zone, then, now in read:
            seen = again.read(tuple(now), then=tuple(then)) if zone == look.zone else None
            if seen is not None:
                level, warmth = seen
                found[look.result, tuple(now)] = Pair(
                    look.visit, look.person, weeks, level - look.level, warmth - look.warmth
                )
    return list(found.values())


def _next_readings(looks: Sequence[Look], salon: Salon) -> dict[int, next_readings.Plain]:
    """Return what the next visits read: as kept, or afresh where that may have changed."""
    if not looks:
        return {}
    kept = look_rows.rows_of({look.visit for look in looks})
    unsettled = next_readings.unsettled(salon=salon, since=min(look.at for look in looks))
    found: dict[int, next_readings.Plain] = {}
    afresh: dict[int, list[str]] = defaultdict(list)
    for look in looks:
        faded = kept[look.visit].faded
        if faded is None or look.person in unsettled:
            afresh[look.visit].append(look.zone)
        else:
            found[look.visit] = faded
    return found | next_readings.read_next(afresh)
