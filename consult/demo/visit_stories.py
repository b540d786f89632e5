"""Eighteen months of visits: each told step by step through the services of the screens."""

import datetime as dt
from collections.abc import Callable
from dataclasses import asdict, dataclass
from decimal import Decimal

from clients import services as desk
from clients.models import Appointment, Client, Status
from clients.skin_test.safety import QUESTIONS
from consult import selectors
from consult.agreement import planning
from consult.bench import starting_values
from consult.demo import copies
from consult.demo.cast import REGULARS, Guest
from consult.demo.habits import Off, off_of
from consult.demo.house import House
from consult.demo.patch_stories import place_and_read
from consult.demo.preparation_stories import prepare
from consult.hair.reading_fields import ZoneRead
from consult.models import Choice, Formula, Length, Visit
from consult.services.agreement import Pick, choose, sign_off
from consult.services.bench import end_processing, mix_bowl, start_processing
from consult.services.consultation import answer_safety, read_hair
from consult.services.formula import decide_formula
from consult.services.leftover import weigh_leftover
from consult.services.result import see_result
from consult.services.visits import close_visit, open_visit
from formulas.models import ShelfBalance
from salon.models import Staff

# The first regulars have been coming for eighteen months, the others for four.
_LONG, _MONTHS_BACK, _MONTHS_BACK_NEWER = 7, 18, 4
_SAFE = {question.key: "no" for question in QUESTIONS}


@dataclass(frozen=True)
class Planned:
    """One visit of the past that is still to be told."""

    starts_at: dt.datetime
    guest: Guest
    stylist: Staff
    number: int

    @property
    def lightens(self) -> bool:
        """Whether the hair is lightened before the toner."""
        return self.number % 4 == 0 and self.guest.lifted >= 9.5


def build(built: House) -> None:
    """Tell every regular's visits in the order in which they happened.

    Of each kind of hair the first with and the first without lightening go through every
    service; those after them are copies with results of their own.
    """
    stories: dict[tuple[object, bool], copies.Story] = {}
    for planned in sorted(_plan(built), key=lambda story: (story.starts_at, story.guest.name)):
        client = built.clients[planned.guest.name]
        _keep_tested(built, planned, client)
        kind = planned.guest.hair, planned.lightens
        if kind not in stories or not _copied(built, planned, client, stories[kind]):
            story = tell_visit(built, planned, client)
            if story:
                stories[kind] = story


def tell_visit(built: House, planned: Planned, client: Client) -> copies.Story | None:
    """Tell a visit through the services, if there is time for it."""
    with copies.recording(client) as story:
        booked = _book(built, planned, client)
        if booked is not None:
            story.stylist, story.starts_at = booked.stylist, booked.starts_at
            build_visit(built, planned, booked)
    return story if booked else None


def _copied(built: House, planned: Planned, client: Client, story: copies.Story) -> bool:
    """Copy a visit to a free time; say no where the shelf or the stylists have none left."""
    held = ShelfBalance.objects.in_bulk(story.drawn())
    if any(held[shade].grams + grams < 0 for shade, grams in story.drawn().items()):
        return False
    for stylist, starts_at in _possible(built, planned):
        if copies.is_free(story, stylist, starts_at):
            off = off_of(planned.guest, stylist=stylist.username, number=planned.number)
            one = copies.Copy(story, client, stylist, starts_at, off)
            copies.copy(built.salon, [one], built.random)
            return True
    return False


def _plan(built: House) -> list[Planned]:
    """Return the visits of all regulars; some have one due today (`today_stories`)."""
    today = built.now.astimezone(built.salon.zone).date()
    planned = []
    for place, guest in enumerate(REGULARS):
        months = _MONTHS_BACK if place < _LONG else _MONTHS_BACK_NEWER
        first = today - dt.timedelta(days=30 * months)
        day = today - dt.timedelta(weeks=guest.weeks)
        visits = []
        while day > first:
            hour = 9 + (place // 3) % 4 * 2
            # Every stylist has clients of both lines: else nobody could tell line from hand.
            visits.append((built.at(day, hour, 30), (place + place // 3) % 3))
            day -= dt.timedelta(days=7 * guest.weeks + built.random.randint(-3, 6))
        for number, (starts_at, column) in enumerate(reversed(visits)):
            planned.append(Planned(starts_at, guest, built.stylists[column], number))
    return planned


def _keep_tested(built: House, planned: Planned, client: Client) -> None:
    """Place a test three days before, where the last one would have run out."""
    line = built.lines[planned.guest.line]
    last = client.patch_tests.filter(line=line).first()
    if last is None or planned.starts_at - last.applied_at > dt.timedelta(days=150):
        place_and_read(built, client, line, planned.starts_at - dt.timedelta(days=3))


def _book(built: House, planned: Planned, client: Client) -> Appointment | None:
    """Book it with the stylist, or with the next who is free; None where all are taken."""
    for stylist, starts_at in _possible(built, planned):
        try:
            return desk.book_appointment(
                client=client,
                service=built.services["Tone and finish"],
                line=built.lines[planned.guest.line],
                stylist=stylist,
                starts_at=starts_at,
                by=built.desk,
                at=planned.starts_at - dt.timedelta(days=10),
            )
        except desk.BookingRefused:
            continue
    return None


def _possible(built: House, planned: Planned) -> list[tuple[Staff, dt.datetime]]:
    """Return who may see a client and when, the planned first."""
    others = [stylist for stylist in built.stylists if stylist != planned.stylist]
    return [
        (stylist, planned.starts_at + dt.timedelta(hours=shift))
        for stylist in (planned.stylist, *others)
        for shift in (0, 2, 4)
    ]


def build_visit(
    built: House, planned: Planned, booked: Appointment, *, upto: str = "closed"
) -> Visit:
    """Tell one visit from the check-in; stop before the step named `upto`."""
    guest, by = planned.guest, booked.stylist
    longer = 48 if planned.lightens else 0

    def later(minutes: int) -> dt.datetime:
        """A moment of the visit; of one that is booked for later today, now."""
        late = longer if minutes > 1 else 0
        return min(booked.starts_at + dt.timedelta(minutes=minutes + late), built.now)

    if booked.status == Status.BOOKED:
        desk.check_in(appointment=booked, by=built.desk, at=later(-4))
    visit = open_visit(appointment=booked, by=by, at=later(0))

    answer_safety(visit=visit, answers=_SAFE, by=by, at=later(1))
    if planned.lightens:
        prepare(visit, Decimal(str(guest.lifted)), by=by, start=later(1), end=later(2))
    read_hair(
        visit=visit, readings=_readings(built, guest), by=by, at=later(4),
        facts={"length": built.random.choice(Length.values)},
    )  # fmt: skip
    if upto == "choice":
        return visit
    aim = float(min(max(guest.keeps + built.random.randint(-4, 4), 0), 90))
    groups = selectors.groups_of(selectors.readings_in_force(visit))
    choice = choose(
        visit=visit,
        picks=[Pick(zones=key, warmth_aim_percent=aim) for key in groups],
        wanted_level=Decimal(guest.dark_as) if guest.dark_as else None,
        by=by,
        at=later(9),
    )
    if upto == "sign":
        return visit
    signed = sign_off(
        visit=visit, choice=choice, method="typed", signed_name=guest.name, by=by, at=later(11)
    )
    formulas = [_decide(visit, key, by, later(13)) for key in groups]
    for formula in formulas:
        _mix(built, visit, formula, by, later(18))
    if upto == "bench":
        return visit
    _process(visit, by, later)
    off = off_of(guest, stylist=by.username, number=planned.number)
    _see(built, visit, signed.choice, off=off, by=by, at=later(70))
    close_visit(
        visit=visit,
        by=by,
        at=later(80),
        next_visit_date=(later(80) + dt.timedelta(weeks=guest.weeks or 6)).date(),
    )
    return visit


def _readings(built: House, guest: Guest) -> dict[str, ZoneRead]:
    """Read the roots half a level darker than the rest now and then."""
    lifted = Decimal(str(guest.lifted))
    alike: ZoneRead = {
        "natural_level": Decimal(str(guest.natural)),
        "lifted_level": lifted,
        "undertone": Decimal(str(guest.undertone)),
        "white_percent": guest.white,
        "porosity": Decimal(str(guest.porosity)),
    }
    roots = alike.copy()
    if built.random.random() < 0.3:
        roots["lifted_level"] = lifted - Decimal("0.5")
    return {"roots": roots, "mid_lengths": alike.copy(), "ends": alike.copy()}


def _decide(visit: Visit, key: str, by: Staff, at: dt.datetime) -> Formula:
    """Take the first suggestion for one group of zones."""
    choice = selectors.choice_in_force(visit)
    if choice is None:
        raise ValueError("nothing was chosen")
    place = choice.places.get(zones=key)
    readings = selectors.readings_in_force(visit)
    bowl, _from_last = starting_values.bowl_grams(visit, key, None)
    best = planning.ranked(
        visit,
        readings,
        key,
        aim=place.warmth_aim_percent,
        bowl_grams=float(bowl),
        at=at,
        count=1,
        as_dark_as=place.as_dark_as,
    )[0]
    ids = dict(visit.line.shades.values_list("name", "pk"))
    return decide_formula(
        visit=visit,
        zones_key=key,
        parts={ids[name]: Decimal(part) for name, part in best.parts},
        source="suggested",
        bowl_grams=bowl,
        reasons=best.reasons,
        by=by,
        at=at,
    )


def _mix(built: House, visit: Visit, formula: Formula, by: Staff, at: dt.datetime) -> None:
    """Weigh a bowl with a little over now and then."""
    poured = {
        line.shade_id: line.grams + Decimal(built.random.choice(("0", "0", "0.1", "0.2")))
        for line in formula.lines.all()
    }
    mix_bowl(
        visit=visit,
        formula=formula,
        poured=poured,
        developer_grams=formula.developer_grams,
        by=by,
        at=at,
    )


def _process(visit: Visit, by: Staff, later: Callable[[int], dt.datetime]) -> None:
    for bowl in selectors.bowls_of(visit):
        start_processing(bowl=bowl, by=by, at=later(24))
    for bowl in selectors.bowls_of(visit):
        if bowl.pk % 4:  # now and then nobody weighs it
            left = (bowl.total_grams * Decimal(bowl.pk % 7) / 40).quantize(Decimal("0.1"))
            weigh_leftover(bowl=bowl, grams=left, by=by, at=later(26))
    minutes = visit.line.processing_minutes
    for bowl in selectors.bowls_of(visit):
        end_processing(bowl=bowl, by=by, at=later(24 + minutes))
    visit.refresh_from_db()  # each bowl moved its own copy of the visit on


def _see(
    built: House, visit: Visit, choice: Choice, *, off: Off, by: Staff, at: dt.datetime
) -> None:
    """See a result near the prediction."""
    for place in choice.places.all():
        see_result(
            visit=visit,
            zones=place.zones,
            **asdict(copies.seen(place.predicted, built.random, off)),
            by=by,
            at=at,
        )
