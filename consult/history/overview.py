"""The owner's page: what needs a person today, and how a time's results compare.

Every mean comes with how many results and clients it rests on and with its doubt; nothing is
said of what was not seen.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean

from django.db.models import Count, QuerySet
from django.urls import reverse
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from clients.models import Client
from clients.people import person
from consult.history import costs, findings, histories, looks
from consult.history.findings import Background, Cause, Finding, in_words
from consult.history.looks import Look
from consult.history.tendencies import Tendency
from consult.models import Visit
from formulas import selectors as formulary
from formulas.models import ProductLine
from formulas.shelf_summary import Held
from salon.models import Salon, Staff

# Runs are looked for in clients who came within so many days, in so many of their visits.
RECENT_DAYS, LOOKED_BACK_DAYS, MOST_VISITS = 120, 3 * 365, 4000
MOST_NEEDS = 12
# Fewer results say nothing of how wide ranges should be.
FEWEST_FOR_RANGES = 20
CLAIMS = ((50, 0.674), (80, 1.282), (95, 1.96))


@dataclass(frozen=True)
class Question:
    """What is asked about: a time, and where given a stylist, a line, a part of the hair."""

    salon: Salon
    first: dt.date
    last: dt.date
    stylist: Staff | None = None
    line: ProductLine | None = None
    zone: str = ""

    @property
    def since(self) -> dt.datetime:
        """The first moment."""
        return dt.datetime.combine(self.first, dt.time(), tzinfo=self.salon.zone)

    @property
    def until(self) -> dt.datetime:
        """The moment after the last."""
        after = self.last + dt.timedelta(days=1)
        return dt.datetime.combine(after, dt.time(), tzinfo=self.salon.zone)


@dataclass(frozen=True)
class Group:
    """A line's or a stylist's visits of the time."""

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


@dataclass(frozen=True)
class ClientRow:
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
class Claim:
    """How many results lay inside ranges that claim to hold so many of a hundred."""

    percent: int
    inside: int
    of: int

    @property
    def seen_percent(self) -> float:
        """The share that did."""
        return 100.0 * self.inside / self.of if self.of else 0.0


@dataclass(frozen=True)
class Need:
    """One thing that needs a person, with where to look."""

    title: str
    body: str
    href: str
    action: str


@dataclass(frozen=True)
class Overview:
    """Everything on the owner's page that answers a question."""

    lines: Sequence[Group]
    stylists: Sequence[Group]
    clients: Sequence[ClientRow]
    everyone: tuple[Tendency | None, Tendency | None]
    depth_claims: Sequence[Claim]
    warmth_claims: Sequence[Claim]
    visits: int
    redone: int
    results: int


def runs_now(*, salon: Salon, at: dt.datetime) -> tuple[Background, dict[int, list[Finding]]]:
    """Return the salon's background, and the runs that go on by person."""
    known = findings.background(salon=salon, at=at)
    recent = (
        Visit.objects.for_salon(salon)
        .closed()
        .filter(opened_at__gte=at - dt.timedelta(days=RECENT_DAYS))
        .annotate(person=person.id_through("client"))
        .values_list("person", flat=True)
        .order_by()
        .distinct()
    )
    rows = looks.of_people(
        list(recent), since=at - dt.timedelta(days=LOOKED_BACK_DAYS), most=MOST_VISITS
    )
    found = {
        pk: [finding for finding in findings.of_person(own, known) if finding.is_current]
        for pk, own in looks.by_person(rows).items()
    }
    return known, {pk: runs for pk, runs in found.items() if runs}


def needs(
    *, salon: Salon, known: Background, runs: dict[int, list[Finding]], at: dt.datetime
) -> tuple[list[Need], int]:
    """Return what needs a person today, the most off first, and how many more there are."""
    found = [*_of_groups(known), *_of_clients(runs), *_of_ranges(salon, known, at)]
    found += [*_of_shelf(salon), *_of_open_visits(salon, at)]
    return found[:MOST_NEEDS], max(0, len(found) - MOST_NEEDS)


def overview(question: Question, runs: dict[int, list[Finding]]) -> Overview:
    """Return how the results of a time compare; a fixed number of queries."""
    visits = _visits(question)
    rows = [
        look for look in _looks(question) if not question.zone or look.zone == question.zone
    ]
    known = findings.background_of(rows, salon=question.salon)
    counted = list(
        visits.annotate(person=person.id_through("client"), redone=Count("corrections"))
        .order_by()
        .values_list("pk", "line", "stylist", "person", "opened_at", "redone")
    )
    spent = costs.by_group(visits)
    single = looks.once_each(rows)
    return Overview(
        lines=_groups(known, known.lines, [(v[1], v[5]) for v in counted], spent, "line"),
        stylists=_groups(known, known.staff, [(v[2], v[5]) for v in counted], spent, "stylist"),
        clients=_clients([(v[3], v[4]) for v in counted], single, runs),
        everyone=(known.depth.everyone, known.warmth.everyone),
        depth_claims=_claims(
            look.predicted_level.distance(-look.depth_error) for look in single
        ),
        warmth_claims=_claims(
            look.predicted_warmth.distance(look.warmth_error) for look in single
        ),
        visits=len(counted),
        redone=sum(bool(v[5]) for v in counted),
        results=len(single),
    )


def _visits(question: Question) -> QuerySet[Visit]:
    visits = Visit.objects.for_salon(question.salon).closed()
    visits = visits.filter(opened_at__gte=question.since, opened_at__lt=question.until)
    if question.stylist:
        visits = visits.filter(stylist=question.stylist)
    if question.line:
        visits = visits.filter(line=question.line)
    return visits


def _looks(question: Question) -> list[Look]:
    return looks.of_visits(_visits(question).order_by("-opened_at", "-pk")[:MOST_VISITS])


def _groups(
    known: Background,
    names: dict[int, str],
    visits: Iterable[tuple[int, int]],
    spent: costs.ByGroup,
    kind: str,
) -> list[Group]:
    count: dict[int, int] = defaultdict(int)
    redone: dict[int, int] = defaultdict(int)
    for pk, corrections in visits:
        count[pk] += 1
        redone[pk] += bool(corrections)
    depth = known.depth.lines if kind == "line" else known.depth.stylists
    warmth = known.warmth.lines if kind == "line" else known.warmth.stylists
    found = [
        Group(
            names.get(pk, ""), count[pk], redone[pk], depth.get(pk), warmth.get(pk),
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
                fmean(look.deeper for look in own) if own else None,
                fmean(look.warmer for look in own) if own else None,
                runs[pk][0] if pk in runs else None,
            )
        )  # fmt: skip
    return sorted(found, key=_most_off_first)


def _most_off_first(row: ClientRow) -> tuple[bool, float, float, str]:
    off = max(abs(row.deeper or 0.0) / 0.5, abs(row.warmer or 0.0) / 15.0)
    weight = row.finding.weight if row.finding else 0.0
    return (row.finding is None, -weight, -off, row.name)


def _claims(distances: Iterable[float]) -> list[Claim]:
    every = list(distances)
    return [
        Claim(percent, sum(distance <= limit for distance in every), len(every))
        for percent, limit in CLAIMS
    ]


def _of_groups(known: Background) -> list[Need]:
    """Return lines, stylists, or the whole salon, whose results are off."""
    found: list[tuple[float, Need]] = []
    address = reverse("consult:histories")
    for number in ("depth", "warmth"):
        tendencies = known.of(number)
        groups = [
            (known.lines.get(pk, ""), "line", pk, t) for pk, t in tendencies.lines.items()
        ]
        groups += [
            (known.staff.get(pk, ""), "stylist", pk, t) for pk, t in tendencies.stylists.items()
        ]
        named = [row for row in groups if row[3].is_off]
        everyone = tendencies.everyone
        if everyone and everyone.is_off and not named:
            named = [(_("All results"), "everyone", 0, everyone)]
        for name, kind, pk, tendency in named:
            title = _("%(name)s: %(off)s than predicted") % {
                "name": name, "off": in_words(tendency.mean, number),
            }  # fmt: skip
            href = {
                "line": reverse("consult:learning", args=[pk]) if pk else "",
                "stylist": f"{address}?stylist={pk}",
                "everyone": f"{address}#groups",
            }[kind]
            action = _("Compare with our results") if kind == "line" else _("Show the results")
            body = _of_whom(kind) % _values(tendency, number)
            found.append((abs(tendency.mean) / tendency.doubt, Need(title, body, href, action)))
    return [need for _weight, need in sorted(found, key=lambda pair: -pair[0])]


def _of_whom(kind: str) -> str:
    if kind == "line":
        return _(
            "On average over %(n)s results of %(clients)s clients, no matter who did it "
            "(19 in 20: %(low)s to %(high)s). Likely the line: a batch, a shade, its strength."
        )
    if kind == "stylist":
        return _(
            "On average over %(n)s results of %(clients)s clients, whatever the line "
            "(19 in 20: %(low)s to %(high)s). Likely how hair is read, mixed or timed: look at "
            "a few heads together."
        )
    return _(
        "On average over %(n)s results of %(clients)s clients, with every line and stylist "
        "(19 in 20: %(low)s to %(high)s). Look at the light where results are seen, and "
        "compare the lines with your results."
    )


def _values(tendency: Tendency, number: str) -> dict[str, object]:
    places = 1 if number == "depth" else 0
    return {
        "n": tendency.results,
        "clients": tendency.clients,
        "low": signed(tendency.low, places),
        "high": signed(tendency.high, places),
    }


def signed(value: float, places: int) -> str:
    """Return a number with its sign, in the reader's own digits."""
    rounded = round(value, places) + 0.0
    text = number_format(abs(rounded), places)
    return f"+{text}" if rounded > 0 else f"−{text}" if rounded < 0 else text


def _of_clients(runs: dict[int, list[Finding]]) -> list[Need]:
    """Return the clients with a run that neither their line nor their stylist explains."""
    names = dict(Client.objects.filter(pk__in=runs).values_list("pk", "name"))
    own = [
        (pk, finding)
        for pk, found in runs.items()
        for finding in found[:1]
        if finding.cause not in (Cause.LINE, Cause.STYLIST)
    ]
    return [
        Need(
            _("%(name)s. %(what)s")
            % {"name": f"\u2068{names[pk]}\u2069", "what": finding.title},
            f"{finding.amount} {finding.because}",
            reverse("consult:tones", args=[pk]),
            _("Show the colour visits"),
        )
        for pk, finding in sorted(own, key=lambda pair: -pair[1].weight)
    ]


def _of_ranges(salon: Salon, known: Background, at: dt.datetime) -> list[Need]:
    """Say where ranges that claim 19 in 20 hold far fewer."""
    rows = looks.once_each(
        looks.of_salon(
            salon=salon, since=at - dt.timedelta(days=findings.DAYS), most=findings.MOST_VISITS
        )
    )
    if len(rows) < FEWEST_FOR_RANGES:
        return []
    found = []
    for number, claims in (
        (_("Depth"), _claims(x.predicted_level.distance(-x.depth_error) for x in rows)),
        (_("Warmth"), _claims(x.predicted_warmth.distance(x.warmth_error) for x in rows)),
    ):
        claim = claims[-1]
        share = claim.percent / 100
        slack = 3 * (share * (1 - share) / claim.of) ** 0.5
        if claim.inside / claim.of < share - slack:
            title = _("%(number)s: ranges are too narrow") % {"number": number}
            body = _(
                "%(n)s of %(of)s results were inside ranges that should be right 19 times in "
                "20. Compare "
                "the lines with your results: ranges widen with them."
            ) % {"n": claim.inside, "of": claim.of}
            href = reverse("consult:histories") + "#ranges"
            found.append(Need(title, body, href, _("Show the ranges")))
    return found


def _of_shelf(salon: Salon) -> list[Need]:
    shades = formulary.shelf(salon=salon)
    held = [Held(shade, shade.grams) for shade in shades]  # type: ignore[attr-defined]
    by_state: dict[str, list[Held]] = defaultdict(list)
    for one in held:
        by_state[one.state].append(one)
    found = []
    if by_state["count"]:
        n = len(by_state["count"])
        title = ngettext("Count %(n)s shade", "Count %(n)s shades", n) % {"n": n}
        body = _(
            "More was poured than was entered as received: %(names)s. A delivery is missing."
        ) % {"names": ", ".join(str(one.shade) for one in by_state["count"][:6])}
        found.append(Need(title, body, reverse("formulas:stock"), _("Go to the stock")))
    low = by_state["low"] + (by_state["out"] if len(by_state["out"]) < len(held) else [])
    if low:
        n = len(low)
        title = ngettext("%(n)s shade to order", "%(n)s shades to order", n) % {"n": n}
        body = ", ".join(f"{one.shade} ({one.state_label})" for one in low[:8])
        found.append(Need(title, body, reverse("formulas:stock"), _("Go to the stock")))
    return found


def _of_open_visits(salon: Salon, at: dt.datetime) -> list[Need]:
    day = at.astimezone(salon.zone).date()
    start = dt.datetime.combine(day, dt.time(), tzinfo=salon.zone)
    n = histories.unfinished(salon=salon, before=start).count()
    if not n:
        return []
    title = ngettext(
        "%(n)s visit of an earlier day is open", "%(n)s visits of earlier days are open", n
    ) % {"n": n}
    body = _("Without its result nothing can be learned from it. Close it or end it.")
    return [Need(title, body, reverse("consult:today"), _("Go to the visits"))]
