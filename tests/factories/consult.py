"""A salon ready for a visit, and the steps of one visit, through the real services."""

import datetime as dt
import json
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Unpack

from clients.models import (
    Appointment,
    Client,
    PatchTest,
    PatchTestReading,
    ReadingOutcome,
    Service,
    Site,
)
from clients.models import Status as Booking
from clients.sealed import keys
from clients.skin_test.safety import QUESTIONS
from consult import services
from consult.hair.reading_fields import ZoneRead
from consult.models import BowlMixed, Choice, Formula, Method, SignOff, Visit
from consult.selectors import choice_in_force, formulas_in_force, sign_off_of
from consult.visit.facts import VisitFacts
from consult.visit.loading import facts_of
from consult.visit.path import Step
from formulas.models import ProductLine
from salon.models import Role, Salon, Staff
from tests.factories.clients import agree
from tests.factories.salon import StaffFactory
from tests.factories.shelf import stocked_line as stocked_line  # noqa: PLC0414
from tests.typed import present

NO_TO_ALL = {question.key: "no" for question in QUESTIONS}
SIGNATURE = json.dumps(
    [
        {
            "penColor": "#000",
            "points": [{"x": 10.0 + 9 * n, "y": 40.0 + n % 3} for n in range(12)],
        }
    ]
)


def cleared_client(
    salon: Salon, line: ProductLine, *, by: Staff, at: dt.datetime, name: str = "Ada Brandt",
    born: dt.date = dt.date(1990, 5, 1)
) -> Client:  # fmt: skip
    """Return an adult client with a clear patch test for the line."""
    client = Client.objects.create(salon=salon, name=name, birth_date=born, registered_at=at)
    agree(client, by=by, at=at - dt.timedelta(days=5))
    placed = at - dt.timedelta(days=4)
    test = PatchTest.objects.create(
        client=client,
        line=line,
        site=Site.BEHIND_LEFT_EAR,
        batch="B1",
        applied_at=placed,
        applied_by=by,
        recorded_at=placed,
    )
    PatchTestReading.objects.create(
        test=test,
        applied_at=placed,
        outcome=ReadingOutcome.NO_REACTION,
        read_at=at - dt.timedelta(days=1),
        read_by=by,
    )
    return client


def checked_in(
    client: Client, line: ProductLine | None, *, stylist: Staff, starts_at: dt.datetime
) -> Appointment:
    """Return a checked-in colour appointment."""
    service, _new = Service.objects.get_or_create(
        salon=client.salon,
        name="Toner",
        defaults={"application_minutes": 30, "processing_minutes": 20, "is_colour": True},
    )
    one = Appointment(
        salon=client.salon,
        client=client,
        stylist=stylist,
        service=service,
        line=line,
        status=Booking.CHECKED_IN,
    )
    one.place_at(starts_at)
    others = Appointment.objects.active().filter(stylist=stylist)
    short, is_past_midnight = dt.timedelta(minutes=5), _hour(one) == 0
    while others.filter(starts_at__lt=one.ends_at, ends_at__gt=one.starts_at).exists():
        # Someone sits there: a short one just before, or just after on the same day.
        first = one.ends_at if is_past_midnight else one.starts_at - short
        one.starts_at, one.ends_at = first, first + short
        one.processing_from = one.processing_until = None
    one.save()
    return one


def _hour(appointment: Appointment) -> int:
    return appointment.starts_at.astimezone(appointment.salon.zone).hour


def zone(**changes: Unpack[ZoneRead]) -> ZoneRead:
    """Return the reading of one zone: level 7.5, average."""
    return {
        "natural_level": Decimal("5.0"),
        "lifted_level": Decimal("7.5"),
        "undertone": Decimal(0),
        "white_percent": 0,
        "porosity": Decimal(0),
        "is_toned": True,
        "note": "",
        **changes,
    }


def head(**zones: ZoneRead) -> dict[str, ZoneRead]:
    """Return readings of all three zones, alike where nothing else is given."""
    return {name: zones.get(name, zone()) for name in ("roots", "mid_lengths", "ends")}


@dataclass
class Story:
    """One visit, told step by step; each call goes through the product's own service.

    As in a request, the keys of clients are kept at hand during a step.
    """

    visit: Visit
    by: Staff
    at: dt.datetime

    def later(self, minutes: float = 5) -> dt.datetime:
        """Move the clock of the story on."""
        self.at += dt.timedelta(minutes=minutes)
        return self.at

    @keys.at_hand()
    def answer(self, **answers: str) -> "Story":
        services.answer_safety(
            visit=self.visit, answers={**NO_TO_ALL, **answers}, by=self.by, at=self.later()
        )
        return self

    @keys.at_hand()
    def read(self, **zones: ZoneRead) -> "Story":
        services.read_hair(
            visit=self.visit, readings=head(**zones), by=self.by, at=self.later()
        )
        return self

    @keys.at_hand()
    def choose(self, aim: float = 40.0) -> Choice:
        from consult.agreement.planning import plans
        from consult.selectors import readings_in_force

        keys = plans(self.visit, readings_in_force(self.visit), at=self.at)
        picks = [services.Pick(key, aim) for key in keys]
        return services.choose(visit=self.visit, picks=picks, by=self.by, at=self.later())

    @keys.at_hand()
    def sign(self, **how: Any) -> SignOff:
        choice = present(choice_in_force(self.visit))
        return services.sign_off(
            visit=self.visit,
            choice=choice,
            by=self.by,
            at=self.later(),
            **{"method": Method.TYPED, "signed_name": self.visit.client.name, **how},
        )

    @keys.at_hand()
    def decide(self) -> list[Formula]:
        """Decide, for every place signed, the very mix that was shown there."""
        choice = present(choice_in_force(self.visit))
        shades = {shade.name: shade.pk for shade in self.visit.line.shades.all()}
        return [
            services.decide_formula(
                visit=self.visit,
                zones_key=place.zones,
                parts={
                    shades[name]: Decimal(part) for name, part in place.shown["chosen"]["parts"]
                },
                source="suggested",
                bowl_grams=Decimal(60),
                by=self.by,
                at=self.later(),
            )
            for place in choice.places.all()
        ]

    @keys.at_hand()
    def mix(self) -> list[BowlMixed]:
        signed = sign_off_of(choice_in_force(self.visit))
        return [
            services.mix_bowl(
                visit=self.visit,
                formula=formula,
                poured={line.shade_id: line.grams for line in formula.lines.all()},
                developer_grams=formula.developer_grams,
                by=self.by,
                at=self.later(),
            )
            for formula in formulas_in_force(self.visit, signed)
        ]

    @keys.at_hand()
    def process(self, minutes: float = 20) -> "Story":
        bowls = self.mix()
        for bowl in bowls:
            services.start_processing(bowl=self.fresh(bowl), by=self.by, at=self.later())
            services.note_check(bowl=self.fresh(bowl), seen="nearly", by=self.by, at=self.at)
        self.later(minutes)
        for bowl in bowls:
            services.end_processing(bowl=self.fresh(bowl), by=self.by, at=self.at)
        self.visit.refresh_from_db()
        return self

    def fresh(self, bowl: BowlMixed) -> BowlMixed:
        return BowlMixed.objects.select_related("visit__salon", "formula").get(pk=bowl.pk)

    @keys.at_hand()
    def see(self, **seen: Any) -> "Story":
        choice = present(choice_in_force(self.visit))
        for place in choice.places.all():
            services.see_result(
                visit=self.visit,
                zones=place.zones,
                by=self.by,
                at=self.later(),
                **{"level": Decimal("6.5"), "warmth_left_percent": 45, **seen},
            )
        return self

    @property
    def facts(self) -> VisitFacts:
        """What the visit's records say now."""
        return facts_of(self.visit, at=self.at)

    @keys.at_hand()
    def close(self) -> Visit:
        return services.close_visit(visit=self.visit, by=self.by, at=self.later())

    @keys.at_hand()
    def to_bench(self, aim: float = 40.0) -> "Story":
        self.answer().read()
        self.choose(aim)
        self.sign()
        self.decide()
        return self

    @keys.at_hand()
    def to_end(self, aim: float = 40.0, **seen: Any) -> Visit:
        return self.to_bench(aim).process().see(**seen).close()


@keys.at_hand()
def opened(salon: Salon, *, stylist: Staff, at: dt.datetime, name: str = "Ada Brandt") -> Story:
    """Return the story of a visit that has just opened."""
    line = ProductLine.objects.filter(salon=salon).first() or stocked_line(
        salon, by=stylist, at=at
    )
    client = Client.objects.filter(salon=salon, name=name).first() or cleared_client(
        salon, line, by=stylist, at=at, name=name
    )
    appointment = checked_in(client, line, stylist=stylist, starts_at=at)
    visit = services.open_visit(appointment=appointment, by=stylist, at=at)
    return Story(visit, stylist, at)


def owner_of(salon: Salon) -> Staff:
    """Return an owner of the salon."""
    return StaffFactory(salon=salon, role=Role.OWNER)


def due_step(story: Story) -> Step | None:
    """Return what is due now; an assertion before it says nothing of it."""
    return story.facts.due
