"""The owner's page: how a time's results compare.

Every mean comes with how many results and clients it rests on and with its doubt; nothing is
said of what was not seen.
"""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from clients.models import Client
from clients.people import person
from consult.history import background, costs, findings, kept_runs, kept_sums, looks
from consult.history.background import Background
from consult.history.fade import Weeks, fade_of
from consult.history.findings import Finding
from consult.history.looks import Look
from consult.history.question import Question, visits_in_question
from consult.history.range_claims import Claim, claims_of
from consult.history.tendencies import Tendency
from salon.models import Salon
from salon.reading_once import read_once

# Runs are looked for in clients who came within so many days.
RECENT_DAYS = 120
# Results of so many of a time's visits are compared, the latest; the page says so.
MOST_COMPARED = 1500


@dataclass(frozen=True)
class Group:
    """A line's or a stylist's visits of the time."""

    pk: int
    name: str
    visits: int
    redone: int
    depth: Tendency | None
    warmth: Tendency | None
    spent: costs.Spent

    @property
    def redone_percent(self) -> float:
        """How many of its visits were redone."""
        return 100.0 * self.redone / self.visits if self.visits else 0.0

    @property
    def is_off(self) -> bool:
        """Whether depth or warmth is off beyond chance."""
        return bool((self.depth and self.depth.is_off) or (self.warmth and self.warmth.is_off))

    @property
    def distance(self) -> float:
        """How far off it is, in its own doubt: what the table is sorted by."""
        known = [t for t in (self.depth, self.warmth) if t is not None and t.doubt]
        return max((abs(t.mean) / t.doubt for t in known), default=0.0)


class ClientRow(NamedTuple):
    """A client's results of the time, and the run that goes on."""

    pk: int
    name: str
    visits: int
    last_at: dt.datetime
    results: int
    deeper: float | None
    warmer: float | None
    finding: Finding | None


@dataclass(frozen=True)
class Overview:
    """Everything on the owner's page that answers a question."""

    lines: Sequence[Group]
    stylists: Sequence[Group]
    clients: Sequence[ClientRow]
    everyone: tuple[Tendency | None, Tendency | None]
    depth_claims: Sequence[Claim]
    warmth_claims: Sequence[Claim]
    fade: Sequence[Weeks]
    visits: int
    redone: int
    results: int
    compared: int

    @property
    def is_part(self) -> bool:
        """Whether results are of the latest visits of the time only: there are too many."""
        return self.compared < self.visits

    @property
    def faded(self) -> int:
        """How many results have a reading of a later visit beside them."""
        return sum(len(weeks.pairs) for weeks in self.fade)


def runs_now(*, salon: Salon, at: dt.datetime) -> tuple[Background, dict[int, list[Finding]]]:
    """Return the salon's background, and the runs that go on by person."""
    known = background.of_salon(salon=salon, at=at)
    people = kept_runs.people_to_look_at(
        salon=salon, since=at - dt.timedelta(days=RECENT_DAYS), scatter=known.scatter
    )
    found = {
        pk: findings.of_person(own, known, only_current=True)
        for pk, own in looks.by_person(looks.of_people(people)).items()
    }
    return known, {pk: runs for pk, runs in found.items() if runs}


def overview(question: Question, runs: dict[int, list[Finding]]) -> Overview:
    """Return how the results of a time compare; a fixed number of queries."""
    rows = [look for look in looks_of(question) if question.covers(look)]
    known = background.of_results(rows, salon=question.salon)
    counted, spent = _counted(question), costs.by_group(question)
    latest = _latest(question)
    single = looks.once_each(rows)
    return Overview(
        lines=_groups(known, known.lines, [(c.line, c) for c in counted], spent, "line"),
        stylists=_groups(
            known, known.staff, [(c.stylist, c) for c in counted], spent, "stylist"
        ),
        clients=_clients([(row.person, row.at) for row in latest.values()], single, runs),
        everyone=(known.depth.everyone, known.warmth.everyone),
        depth_claims=claims_of(look.distance("depth") for look in single),
        warmth_claims=claims_of(look.distance("warmth") for look in single),
        fade=fade_of(rows, salon=question.salon),
        visits=sum(c.visits for c in counted),
        redone=sum(c.redone for c in counted),
        results=len(single),
        compared=len(latest),
    )


def clients_count(question: Question) -> int:
    """Return how many clients the overview of a time has a row for."""
    latest = (
        visits_in_question(question)
        .annotate(person=person.id_through("client"))
        .order_by("-opened_at", "-pk")
        .values_list("person", flat=True)[:MOST_COMPARED]
    )
    return len(set(latest))


class _Counted(NamedTuple):
    """A line's visits by a stylist, and how many of them were redone."""

    line: int
    stylist: int
    visits: int
    redone: int


def looks_of(question: Question) -> list[Look]:
    """Return the results at the visits that a question is about."""
    return looks.of_visits(_latest(question))


@read_once
def _latest(question: Question) -> dict[int, looks.VisitRow]:
    """Return the latest visits of a time, as many as are compared."""
    return looks.rows_of(
        visits_in_question(question).order_by("-opened_at", "-pk")[:MOST_COMPARED]
    )


def _counted(question: Question) -> list[_Counted]:
    """Return how many visits each line had by each stylist, and how many were redone."""
    visits: Counter[tuple[int, int]] = Counter()
    redone: Counter[tuple[int, int]] = Counter()
    for kept in kept_sums.kept(question.whose):
        visits[kept.line, kept.stylist] += kept.visits
        redone[kept.line, kept.stylist] += kept.redone
    for row in kept_sums.unkept(question.whose):
        visits[row.line, row.stylist] += 1
        redone[row.line, row.stylist] += row.is_redone
    return [_Counted(*key, n, redone[key]) for key, n in visits.items()]


def _groups(
    known: Background,
    names: dict[int, str],
    visits: Iterable[tuple[int, _Counted]],
    spent: costs.Costs,
    kind: str,
) -> list[Group]:
    count: dict[int, int] = defaultdict(int)
    redone: dict[int, int] = defaultdict(int)
    for pk, counted in visits:
        count[pk] += counted.visits
        redone[pk] += counted.redone
    depth = known.depth.lines if kind == "line" else known.depth.stylists
    warmth = known.warmth.lines if kind == "line" else known.warmth.stylists
    found = [
        Group(
            pk, names.get(pk, ""), count[pk], redone[pk], depth.get(pk), warmth.get(pk),
            spent.of(kind, pk),
        )
        for pk in count
    ]  # fmt: skip
    return sorted(found, key=lambda group: (not group.is_off, -group.distance, group.name))


def _clients(
    visits: Sequence[tuple[int, dt.datetime]],
    rows: Sequence[Look],
    runs: dict[int, list[Finding]],
) -> list[ClientRow]:
    by_person = looks.by_person(rows)
    opened: dict[int, list[dt.datetime]] = defaultdict(list)
    for pk, at in visits:
        opened[pk].append(at)
    names = dict(Client.objects.filter(pk__in=opened).values_list("pk", "name"))
    found = []
    for pk, moments in opened.items():
        own = by_person.get(pk, [])
        found.append(
            ClientRow(
                pk, names[pk], len(moments), max(moments), len(own),
                sum(look.deeper for look in own) / len(own) if own else None,
                sum(look.warmer for look in own) / len(own) if own else None,
                runs[pk][0] if pk in runs else None,
            )
        )  # fmt: skip
    return sorted(found, key=_most_off_first)


def _most_off_first(row: ClientRow) -> tuple[bool, float, float, str]:
    off = max(abs(row.deeper or 0.0) / 0.5, abs(row.warmer or 0.0) / 15.0)
    weight = row.finding.weight if row.finding else 0.0
    return (row.finding is None, -weight, -off, row.name)
