"""A salon with as many clients and visits as asked for, to measure how pages do at size.

The demo's regulars tell a few visits through the services; all others are copies of these for
invented clients, spread evenly over the stylists' days. The latest visits are whole. Those
before them keep what a page counts, lists or adds up: appointment, visit, what was taken from
the shelf, and their events.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal
from itertools import count, islice
from random import Random

from django.db import transaction

from clients.models import Client
from clients.people import possible_duplicates
from consult.demo import cast, copies, house, repeats, today_stories
from consult.demo.habits import AS_PREDICTED, Off
from consult.demo.house import House
from consult.demo.invented_register import registered
from consult.demo.patch_stories import place_and_read
from consult.demo.plain_figures import keep_plain
from consult.demo.visit_stories import Planned, tell_visit
from consult.history import kept_figures
from formulas import services as formulary
from formulas.models import Shade, ShelfBalance
from salon import services as ground
from salon.models import Salon, Staff
from salon.tools import bulk_rows

_STARTS = (9, 11, 13, 15, 17)  # o'clock: a visit takes up to two hours and a quarter
_BATCH = 500
# So many working days lie between two visits of a client: six weeks.
_EVERY = 36
# How often clients come before they leave, in shares of the mean: most few times, some for years.
_LENGTHS = (0.2, 0.2, 0.2, 0.4, 0.4, 0.6, 1.0, 1.6, 2.4, 3.0)
# Of so many clients one keeps toner, a little more at each visit: a run to find.
_ONE_IN, _A_VISIT = 40, 0.12  # levels deeper with each visit
_TEST_LASTS = dt.timedelta(days=150)
_LEAST_GRAMS = Decimal(600)


@dataclass(frozen=True)
class Size:
    """How many clients and visits, by how many stylists; how many visits are kept whole."""

    clients: int
    visits: int
    stylists: int = 3
    whole: int = 20_000
    repeated: int = 5_000

    @property
    def weeks(self) -> int:
        """Whole weeks, of about `repeated` visits, that are told once and repeated."""
        return max(1, self.repeated // self.a_week)

    @property
    def a_week(self) -> int:
        """Visits of a week."""
        return 6 * self.stylists * len(_STARTS)

    @property
    def rounds(self) -> int:
        """How many times these weeks go into the visits that are not kept whole."""
        return max(0, self.visits - self.whole) // (self.weeks * self.a_week)

    @property
    def days(self) -> int:
        """Working days that the visits take."""
        return -(-self.visits // (self.stylists * len(_STARTS)))

    @property
    def span(self) -> dt.timedelta:
        """The time that the visits take, Sundays among it."""
        return dt.timedelta(days=self.days * 7 // 6 + 14)


@dataclass(frozen=True)
class _Start:
    """Who works in the salon, and what was told of it."""

    built: House
    stylists: list[Staff]
    stories: "list[_Routine]"


@dataclass
class _Routine:
    """A regular's visit and skin test, as told once."""

    visit: copies.Story
    test: copies.Story
    thin: copies.Story = field(init=False)

    def __post_init__(self) -> None:
        self.thin = self.visit.thin()


def fill(size: Size, *, now: dt.datetime, seed: int = 7) -> Salon:
    """Found the demo salon with a long past that ends yesterday, and today's diary."""
    now = now.replace(microsecond=0)
    with transaction.atomic():
        built = house.build(now=now, seed=seed, founded=now - size.span - dt.timedelta(days=60))
        stylists = [*built.stylists, *_hired(built, size.stylists - 3)][: size.stylists]
        first = (now - size.span).astimezone(built.salon.zone).date()
        start = _Start(built, stylists, _routines(built, first))
    first += dt.timedelta(days=7)
    with bulk_rows.unchecked():
        clients = registered(built, size.clients, now - size.span)
        repeated = _repeat_weeks(start, clients, size, first)
        rest = replace(
            size,
            clients=len(clients) - repeated,
            visits=size.visits - size.rounds * size.weeks * size.a_week,
        )
        first += dt.timedelta(weeks=size.rounds * size.weeks)
        _come(_Crowd(start, clients[repeated:], rest), first)
        copies.note_bookings(built.salon)
        keep_plain(built.salon)
    for pks in kept_figures.missing(built.salon):
        kept_figures.keep(pks, salon=built.salon, has_later=False)
    with transaction.atomic():
        today_stories.build(built)
    possible_duplicates.rebuild(salon=built.salon)
    bulk_rows.settle()
    return built.salon


def _repeat_weeks(start: _Start, clients: list[Client], size: Size, first: dt.date) -> int:
    """Tell some weeks of long ago and repeat them; return how many clients came in them."""
    if not size.rounds:
        return 0
    visits = size.weeks * size.a_week
    each = max(1, size.clients * visits // size.visits)
    before = copies.last_keys()
    own = replace(size, clients=each, visits=visits, whole=0)
    _come(_Crowd(start, clients[:each], own), first)
    repeats.repeat(repeats.Weeks(before, each, 7 * size.weeks), times=size.rounds - 1)
    return each * size.rounds


def _come(crowd: "_Crowd", first: dt.date) -> None:
    planned = _planned(crowd.start, first, crowd.size.visits)
    while batch := list(islice(planned, _BATCH)):
        with transaction.atomic():
            crowd.come(batch)


def _hired(built: House, number: int) -> list[Staff]:
    return [
        ground.add_member(
            by=built.owner,
            at=built.now,
            password=cast.PASSWORD,
            username=f"stylist{place + 4}",
            display_name=f"Stylist {place + 4}",
            role="stylist",
            has_column=True,
            column_order=place + 4,
        )
        for place in range(max(number, 0))
    ]


def _routines(built: House, first: dt.date) -> list[_Routine]:
    """Tell a tone of each line and one with lightening, in the first days of all."""
    stories = []
    chosen = [(cast.REGULARS[place], number) for place, number in ((0, 1), (2, 0), (1, 0))]
    for place, (guest, number) in enumerate(chosen):
        client, line = built.clients[guest.name], built.lines[guest.line]
        starts_at = built.at(first + dt.timedelta(days=3), 9 + 3 * place)
        stylist = built.stylists[place]
        with copies.recording(client) as test:
            place_and_read(built, client, line, starts_at - dt.timedelta(days=3))
        test.stylist, test.starts_at = stylist, starts_at
        visit = tell_visit(built, Planned(starts_at, guest, stylist, number), client)
        if visit is None:
            raise ValueError("an empty diary has no time")
        stories.append(_Routine(visit, test))
    return stories


def _planned(start: _Start, first: dt.date, number: int) -> Iterator[tuple[Staff, dt.datetime]]:
    """Yield who is free when, day after day but Sundays."""
    left = number
    for days in count():
        day = first + dt.timedelta(days=days)
        if day.weekday() == 6:
            continue
        for hour in _STARTS:
            for stylist in start.stylists:
                if not left:
                    return
                left -= 1
                yield stylist, start.built.at(day, hour)


class _Regulars:
    """Who comes next: as many at a time as come every six weeks, new ones for those who left."""

    def __init__(self, size: Size, dice: Random) -> None:
        self.size, self.dice = size, dice
        self.active = [-1] * min(size.stylists * len(_STARTS) * _EVERY, size.clients)
        self.left = [0] * len(self.active)
        self.turn, self.newest = 0, -1

    def next_one(self) -> int:
        """Return the place of a client in the register."""
        turn = self.turn
        self.turn = (turn + 1) % len(self.active)
        if not self.left[turn]:
            self.newest = (self.newest + 1) % self.size.clients
            self.active[turn] = self.newest
            mean = self.size.visits / self.size.clients
            self.left[turn] = max(1, round(self.dice.choice(_LENGTHS) * mean))
        self.left[turn] -= 1
        return self.active[turn]


class _Crowd:
    """Clients who come one after the other, each with the hair of one story."""

    def __init__(self, start: _Start, clients: list[Client], size: Size) -> None:
        self.start, self.clients = start, clients
        self.size, self.thin = size, size.visits - size.whole
        self.random = Random(1)  # noqa: S311  a story, no secret
        self.regulars = _Regulars(size, self.random)
        self.came = 0
        self.tested: dict[int, dt.datetime] = {}
        self.times: dict[int, int] = {}

    def come(self, planned: list[tuple[Staff, dt.datetime]]) -> None:
        """Write one batch of visits with the skin tests before them."""
        wanted = []
        for stylist, starts_at in planned:
            place = self.regulars.next_one()
            story, client = (
                self.start.stories[place % len(self.start.stories)],
                self.clients[place],
            )
            last = self.tested.get(place)
            if last is None or starts_at - last > _TEST_LASTS:
                self.tested[place] = starts_at
                wanted.append(copies.Copy(story.test, client, stylist, starts_at))
            chosen = story.thin if self.came < self.thin else story.visit
            wanted.append(copies.Copy(chosen, client, stylist, starts_at, self._off(place)))
            self.came += 1
        self._restock(planned[0][1])
        copies.copy(self.start.built.salon, wanted, self.random, notes_bookings=False)

    def _off(self, place: int) -> Off:
        number = self.times[place] = self.times.get(place, -1) + 1
        return AS_PREDICTED if place % _ONE_IN else Off(levels=-_A_VISIT * number)

    def _restock(self, at: dt.datetime) -> None:
        """Receive tubes of what the batch will not leave enough of."""
        used = {shade for story in self.start.stories for shade in story.visit.drawn()}
        short = ShelfBalance.objects.filter(
            shade__in=used, grams__lt=_LEAST_GRAMS + 20 * _BATCH
        ).values("shade")
        for shade in Shade.objects.filter(pk__in=short).order_by("pk"):
            formulary.receive_stock(
                shade=shade,
                grams=shade.tube_grams * _BATCH,
                batch="7001",
                by=self.start.built.owner,
                at=at - dt.timedelta(hours=1),
            )
