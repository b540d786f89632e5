"""The demo salon's house: team, lines, stock, services, chairs and clients."""

import datetime as dt
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random

from clients import services as desk
from clients.models import AlertKind, Chair, Client, ConsentKind, Service
from consult.demo import cast
from formulas import services as formulary
from formulas.models import ProductLine
from salon import services as house
from salon.models import Salon, Staff
from salon.tablet import services as tablet

CONSENT_WORDS = (
    "I agree that the salon keeps my patch tests, allergies and answers to its safety "
    "questions, so that colour is safe. I can withdraw this at any time."
)


@dataclass
class House:
    """Everything that the stories need at hand."""

    now: dt.datetime
    random: Random
    salon: Salon
    owner: Staff
    staff: dict[str, Staff]
    lines: list[ProductLine] = field(default_factory=list)
    services: dict[str, Service] = field(default_factory=dict)
    chairs: list[Chair] = field(default_factory=list)
    clients: dict[str, Client] = field(default_factory=dict)

    @property
    def desk(self) -> Staff:
        """The receptionist."""
        return self.staff["imke"]

    @property
    def stylists(self) -> list[Staff]:
        """Those with a column, in the diary's order."""
        return [self.staff["tomasz"], self.staff["oluchi"], self.owner]

    def at(self, day: dt.date, hour: int, minute: int = 0) -> dt.datetime:
        """Return a moment on the salon's clocks."""
        return dt.datetime.combine(day, dt.time(hour, minute), tzinfo=self.salon.zone)


def build(*, now: dt.datetime, seed: int, founded: dt.datetime | None = None) -> House:
    """Found the salon and put everything but its stories into it."""
    founded = founded or now - dt.timedelta(days=600)
    salon, owner = house.found_salon(
        at=founded,
        owner_username=cast.OWNER.username,
        owner_name=cast.OWNER.display_name,
        password=cast.PASSWORD,
        **cast.SALON,
    )
    owner = house.change_member(
        member=owner,
        by=owner,
        at=founded,
        has_column=cast.OWNER.has_column,
        column_order=cast.OWNER.column_order,
    )
    staff = {cast.OWNER.username: owner}
    for member in cast.TEAM:
        staff[member.username] = house.add_member(
            by=owner,
            at=founded,
            password=cast.PASSWORD,
            username=member.username,
            display_name=member.display_name,
            role=member.role,
            has_column=member.has_column,
            column_order=member.column_order,
        )
    for username, pin in cast.PINS.items():
        tablet.set_pin(by=staff[username], pin=pin, at=founded)
    built = House(now, Random(seed), salon, owner, staff)  # noqa: S311  a story, no secret
    _stock_up(built, founded)
    _furnish(built)
    _register(built, founded)
    return built


def _stock_up(built: House, at: dt.datetime) -> None:
    for name in ("Tidepool", "Slatecliff"):
        line = formulary.load_demo_line(
            name=name,
            by=built.owner,
            at=at,
            bottle_price=Decimal("9.60"),
            supplier="Lantern Lane Supply",
        )
        built.lines.append(line)
        for shade in line.shades.all():
            tubes = built.random.choice((6, 8, 10))
            formulary.receive_stock(
                shade=shade,
                grams=shade.tube_grams * tubes,
                batch=f"{built.random.randint(1000, 9999)}",
                by=built.owner,
                at=at,
            )


def _furnish(built: House) -> None:
    for name, minutes, is_colour in (
        ("Tone and finish", (30, 25, 35), True),
        ("Lift and tone", (60, 45, 60), True),
        ("Cut and finish", (45, 0, 0), False),
        ("Patch test", (10, 0, 0), False),
    ):
        application, processing, finish = minutes
        built.services[name] = Service.objects.create(
            salon=built.salon,
            name=name,
            application_minutes=application,
            processing_minutes=processing,
            finish_minutes=finish,
            is_colour=is_colour,
            is_patch_test=name == "Patch test",
        )
    for number in range(1, 5):
        built.chairs.append(Chair.objects.create(salon=built.salon, name=f"Chair {number}"))


def _register(built: House, founded: dt.datetime) -> None:
    for number, guest in enumerate((*cast.REGULARS, *cast.OTHERS)):
        # In a salon of many years the young ones came later.
        is_minor = guest.story == "under age"
        born = built.at(dt.date.fromisoformat(guest.born), 12)
        grown = born + dt.timedelta(days=(13 if is_minor else 18) * 366)
        at = max(founded + dt.timedelta(days=number), grown)
        client = desk.register_client(
            by=built.desk,
            at=at,
            name=guest.name,
            known_as=guest.known_as,
            phone=f"+44117496{built.random.randint(0, 999):04d}",
            email=f"client{number + 1:02d}@example.com",
            birth_date=dt.date.fromisoformat(guest.born),
            preferred_stylist=built.stylists[number % 3],
            language=guest.speaks,
        )
        desk.record_consent(
            client=client,
            kind=ConsentKind.HEALTH_RECORD,
            wording=CONSENT_WORDS,
            is_given=True,
            guardian="Morwenna Ashgrove" if is_minor else "",
            by=built.desk,
            at=at,
        )
        built.clients[guest.name] = client
    desk.raise_alert(
        client=built.clients["Ελένη Παπαδοπούλου"],
        kind=AlertKind.ALLERGY,
        text="Latex: nitrile gloves only",
        by=built.desk,
        at=founded + dt.timedelta(days=60),
    )
    desk.raise_alert(
        client=built.clients["Hannelore Brückner"],
        kind=AlertKind.MEDICAL,
        text="Blood-pressure tablets since spring",
        by=built.desk,
        at=founded + dt.timedelta(days=90),
    )
