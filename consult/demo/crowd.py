"""A salon with as many clients and visits as asked for, to measure how pages do at size.

The demo's regulars tell a few visits through the services; all others are copies of these for
invented clients, spread evenly over the stylists' days. The latest visits are whole. Those
before them keep what a page counts, lists or adds up: appointment, visit, what was taken from
the shelf, and their events.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import count, islice
from random import Random

from django.db import connection, transaction

from clients.models import Client, Consent, ConsentKind
from clients.people import search_index
from clients.people.invented import people
from consult.demo import cast, copies, house, today_stories
from consult.demo.house import CONSENT_WORDS, House
from consult.demo.patch_stories import place_and_read
from consult.demo.visit_stories import Planned, tell_visit
from consult.history import kept_figures
from formulas import services as formulary
from formulas.models import Shade, ShelfBalance
from salon import services as ground
from salon.models import Salon, Staff

_STARTS = (9, 11, 13, 15, 17)  # o'clock: a visit takes up to two hours and a quarter
_BATCH = 250
_TEST_LASTS = dt.timedelta(days=150)
_LEAST_GRAMS, _DELIVERED_TUBES = Decimal(600), 40


@dataclass(frozen=True)
class Size:
    """How many clients and visits, by how many stylists; how many visits are kept whole."""

    clients: int
    visits: int
    stylists: int = 3
    whole: int = 20_000

    @property
    def days(self) -> int:
        """Working days that the visits take."""
        return -(-self.visits // (self.stylists * len(_STARTS)))

    @property
    def span(self) -> dt.timedelta:
        """The time that the visits take, Sundays among it."""
        return dt.timedelta(days=self.days * 7 // 6 + 14)


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
        stories = _routines(built, first)
    clients = _registered(built, size.clients, now - size.span)
    crowd = _Crowd(built, stories, clients, thin=size.visits - size.whole)
    planned = _planned(built, stylists, first + dt.timedelta(days=7), size.visits)
    while batch := list(islice(planned, _BATCH)):
        with transaction.atomic():
            crowd.come(batch)
    for pks in kept_figures.missing(built.salon):
        kept_figures.keep(pks, salon=built.salon)
    with transaction.atomic():
        today_stories.build(built)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    return built.salon


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


def _registered(built: House, number: int, at: dt.datetime) -> list[Client]:
    """Return invented clients who can be found and let the salon keep their records."""
    found: list[Client] = []
    source = people(salon=built.salon, count=number, seed=1, at=at)
    while batch := list(islice(source, 5000)):
        with transaction.atomic():
            new = Client.objects.bulk_create(batch)
            search_index.index(new)
            Consent.objects.bulk_create(
                Consent(
                    client=client,
                    kind=ConsentKind.HEALTH_RECORD,
                    wording=CONSENT_WORDS,
                    is_given=True,
                    recorded_at=at,
                    recorded_by=built.desk,
                )
                for client in new
            )
        found += new
    return found


def _planned(
    built: House, stylists: list[Staff], first: dt.date, number: int
) -> Iterator[tuple[Staff, dt.datetime]]:
    """Yield who is free when, day after day but Sundays."""
    left = number
    for days in count():
        day = first + dt.timedelta(days=days)
        if day.weekday() == 6:
            continue
        for hour in _STARTS:
            for stylist in stylists:
                if not left:
                    return
                left -= 1
                yield stylist, built.at(day, hour)


class _Crowd:
    """Clients who come one after the other, each with the hair of one story."""

    def __init__(
        self, built: House, stories: list[_Routine], clients: list[Client], *, thin: int
    ) -> None:
        self.built, self.stories, self.clients, self.thin = built, stories, clients, thin
        self.random = Random(1)  # noqa: S311  a story, no secret
        self.came = 0
        self.tested: dict[int, dt.datetime] = {}

    def come(self, planned: list[tuple[Staff, dt.datetime]]) -> None:
        """Write one batch of visits with the skin tests before them."""
        wanted = []
        for stylist, starts_at in planned:
            place = self.came % len(self.clients)
            story, client = self.stories[place % len(self.stories)], self.clients[place]
            last = self.tested.get(place)
            if last is None or starts_at - last > _TEST_LASTS:
                self.tested[place] = starts_at
                wanted.append(copies.Copy(story.test, client, stylist, starts_at))
            chosen = story.thin if self.came < self.thin else story.visit
            wanted.append(copies.Copy(chosen, client, stylist, starts_at))
            self.came += 1
        self._restock(planned[0][1])
        copies.copy(self.built.salon, wanted, self.random)

    def _restock(self, at: dt.datetime) -> None:
        """Receive tubes of what the batch will not leave enough of."""
        used = {shade for story in self.stories for shade in story.visit.drawn()}
        short = ShelfBalance.objects.filter(
            shade__in=used, grams__lt=_LEAST_GRAMS + 20 * _BATCH
        ).values("shade")
        for shade in Shade.objects.filter(pk__in=short).order_by("pk"):
            formulary.receive_stock(
                shade=shade,
                grams=shade.tube_grams * _DELIVERED_TUBES * 5,
                batch="7001",
                by=self.built.owner,
                at=at - dt.timedelta(hours=1),
            )
