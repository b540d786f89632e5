"""How toner fades by weeks: what was seen after a toning beside what the next visit reads.

Only mid-lengths and ends count, and only where nothing lightened or cleansed them in between:
roots are new hair. Hair that shows little warmth has no percentages to compare. A reading
names what shows, in half levels, so single pairs say little.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev

from django.db.models import F

from clients.people import person
from consult import zones
from consult.history.looks import Look
from consult.models import StepKind, Visit, VisitStep, ZoneReading
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
    """Return what some results faded to by the next visit, by weeks; four queries."""
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
    following = _following(looks, salon)
    wanted = {look.visit for look in looks} | {pk for pk, _at in following.values()}
    read = _readings(wanted)
    treated = _treated({pk for pk, _at in following.values()})
    again = LaterReadings(salon)
    found: dict[tuple[int, Read], Pair] = {}
    for look in looks:
        if look.visit not in following:
            continue
        after, at = following[look.visit]
        then, now = read.get((look.visit, look.zone)), read.get((after, look.zone))
        weeks = (at - look.at).days / 7
        if then is None or now is None or not 0.5 <= weeks <= MOST_WEEKS:
            continue
        if now[1] > treated.get((after, look.zone), now[1]):
            continue
        seen = again.read(now[0], then=then[0])
        if seen is None:
            continue
        level, warmth = seen
        found[look.result, now[0]] = Pair(
            look.visit, look.person, weeks, level - look.level, warmth - look.warmth
        )
    return list(found.values())


def _following(looks: Sequence[Look], salon: Salon) -> dict[int, tuple[int, dt.datetime]]:
    """Return the same person's next visit after each of these, with its moment."""
    if not looks:
        return {}
    rows = (
        Visit.objects.for_salon(salon)
        .filter(
            person.named_by("client", {look.person for look in looks}),
            opened_at__gte=min(look.at for look in looks),
        )
        .annotate(person=person.id_through("client"))
        .order_by("opened_at", "pk")
        .values_list("person", "pk", "opened_at")
    )
    last: dict[int, int] = {}
    found = {}
    for pk, visit, at in rows:
        if pk in last:
            found[last[pk]] = visit, at
        last[pk] = visit
    return found


def _readings(visits: Iterable[int]) -> dict[tuple[int, str], tuple[Read, dt.datetime]]:
    """Return each zone as it was read first at each visit, and when."""
    rows = ZoneReading.objects.filter(visit__in=visits).order_by("-pk")
    return {
        (visit, zone): ((float(level), float(undertone), float(white)), at)
        for visit, zone, level, undertone, white, at in rows.values_list(
            "visit", "zone", "lifted_level", "undertone", "white_percent", "recorded_at"
        )
    }


def _treated(visits: Iterable[int]) -> dict[tuple[int, str], dt.datetime]:
    """Return when a zone was first lightened or cleansed at a visit."""
    rows = VisitStep.objects.filter(
        visit__in=visits,
        kind__in=[StepKind.LIGHTENING, StepKind.CLEANSING],
        is_taken_back=False,
        replaced_by__isnull=True,
    ).order_by("-ended_at")
    return {
        (visit, zone): at
        for visit, key, at in rows.values_list("visit", "zones", F("ended_at"))
        for zone in zones.Group(key).members
    }
