"""Closed visits in bulk: what is on record after them, without the steps in between."""

import copy
import datetime as dt
import itertools
import random
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from clients.models import Appointment, Client
from clients.models import Status as Booking
from consult.history import kept_figures
from consult.models import (
    BowlLine,
    BowlMixed,
    Choice,
    ChosenPlace,
    Formula,
    FormulaLine,
    HairFacts,
    MarkKind,
    ProcessingMark,
    ResultSeen,
    SignOff,
    Visit,
    ZoneReading,
)
from consult.models.visit import Status
from formulas import suggestion
from formulas.engine_inputs import ZoneInput
from formulas.models import ProductLine
from formulas.snapshots import Prediction
from salon.models import Salon, Staff
from tests.factories.clients import ClientFactory, ToneFactory
from tests.factories.consult import stocked_line

ALL = "roots,mid_lengths,ends"
MIX = {"8 natural": 2.0, "8 strong violet-blue": 1.0}
_number = itertools.count(1)


@dataclass
class Past:
    """A salon's past: clients of lines and stylists, and what was seen at each visit."""

    salon: Salon
    by: Staff
    now: dt.datetime
    dice: random.Random = field(default_factory=lambda: random.Random(3))  # noqa: S311
    _predicted: dict[tuple[object, ...], Prediction] = field(default_factory=dict)

    def line(self, name: str) -> ProductLine:
        """Return a stocked line of that name."""
        found = ProductLine.objects.filter(salon=self.salon, name=name).first()
        return found or stocked_line(self.salon, by=self.by, at=self.now, name=name)

    def client(self, name: str) -> Client:
        return ClientFactory(salon=self.salon, name=name)

    def as_usual(self) -> tuple[float, float]:
        """Return how far off a result is where nothing is wrong: levels deeper, points."""
        return self.dice.gauss(0, 0.12), self.dice.gauss(0, 4)

    def visit(
        self,
        client: Client,
        line: ProductLine,
        stylist: Staff,
        *,
        days_ago: float,
        seen: Mapping[str, tuple[float, float]] | None = None,
        mix: Mapping[str, float] = MIX,
        corrects: Visit | None = None,
        reader: Staff | None = None,
        read: float = 8.0,
    ) -> Visit:
        """Record one closed visit; `seen` is, by zones, (levels deeper, points warmer).

        `read` is the lifted level that every zone was read at.
        """
        n = next(_number)
        at = self.now - dt.timedelta(days=days_ago, minutes=n % 97)
        service = ToneFactory.build(salon=self.salon)
        known = type(service).objects.filter(salon=self.salon, is_colour=True).first()
        if known is None:
            service.save()
            known = service
        booked = Appointment.objects.create(
            salon=self.salon, client=client, stylist=stylist, service=known, line=line,
            status=Booking.CANCELLED, starts_at=at, ends_at=at + dt.timedelta(minutes=75),
        )  # fmt: skip
        visit = Visit.objects.create(
            salon=self.salon, appointment=booked, client=client, stylist=stylist, line=line,
            status=Status.CLOSED, opened_at=at, closed_at=at + dt.timedelta(minutes=80),
            corrects=corrects,
        )  # fmt: skip
        if corrects:  # as it does that is opened at the bench
            kept_figures.note_redone(corrects)
        self._read(visit, stylist, at, read)
        self._bench(visit, stylist, at, n, mix)
        predicted = self._prediction(line, mix)
        for key, (deeper, warmer) in (seen or {ALL: self.as_usual()}).items():
            level = predicted["level"]["value"] - deeper
            warmth = predicted["warmth_left_percent"]["value"] + warmer
            ResultSeen.objects.create(
                visit=visit, zones=key, predicted=predicted,
                level=Decimal(str(round(level, 1))),
                warmth_left_percent=round(min(max(warmth, -50), 150)),
                seen_at=at + dt.timedelta(minutes=70), seen_by=reader or stylist,
            )  # fmt: skip
        return visit

    def _read(self, visit: Visit, by: Staff, at: dt.datetime, level: float) -> None:
        for zone in ALL.split(","):
            ZoneReading.objects.create(
                visit=visit, zone=zone, natural_level=5, lifted_level=level,
                recorded_at=at, recorded_by=by,
            )  # fmt: skip
        HairFacts.objects.create(visit=visit, recorded_at=at, recorded_by=by)

    def _bench(
        self, visit: Visit, by: Staff, at: dt.datetime, n: int, mix: Mapping[str, float]
    ) -> None:
        line = visit.line
        versions = {"engine_version": "t", "data_version": "t", "policy_number": 1}
        predicted = self._prediction(line, mix)
        choice = Choice.objects.create(
            visit=visit, number=1, recorded_at=at, recorded_by=by, **versions
        )
        ChosenPlace.objects.create(
            choice=choice, zones=ALL, place="between", warmth_aim_percent=30.0,
            statement="As shown.", readings={}, predicted=predicted,
            shown={"start": {"hex": predicted["start_hex"]}},
        )  # fmt: skip
        signed = SignOff.objects.create(
            salon=self.salon, visit=visit, choice=choice, number=n, method="typed",
            signed_name=visit.client.name, witness=by, signed_at=at, snapshot="{}",
            previous_digest=f"{n - 1:064d}", digest=f"{n:064d}",
        )  # fmt: skip
        formula = Formula.objects.create(
            visit=visit, sign_off=signed, line=line, zones=ALL, revision=1, source="suggested",
            bowl_grams=60, developer_grams=36, developer_ratio=line.developer_ratio,
            developer_percent=line.developer_percent, processing_minutes=20,
            predicted={ALL: predicted}, decided_at=at, decided_by=by, **versions,
        )  # fmt: skip
        bowl = BowlMixed.objects.create(
            visit=visit, formula=formula, number=1, developer_grams=36, strength_percent=1,
            mixed_at=at, mixed_by=by,
        )  # fmt: skip
        shades = {shade.name: shade for shade in line.shades.all()}
        for name, part in mix.items():
            grams = Decimal(str(8 * part))
            FormulaLine.objects.create(
                formula=formula, shade=shades[name], parts=Decimal(str(part)), grams=grams
            )
            BowlLine.objects.create(
                bowl=bowl, shade=shades[name], planned_grams=grams, poured_grams=grams,
                shade_name=name, price_per_gram=shades[name].known_price_per_gram,
            )  # fmt: skip
        for kind, minutes in ((MarkKind.START, 20), (MarkKind.END, 40)):
            ProcessingMark.objects.create(
                bowl=bowl, kind=kind, marked_at=at + dt.timedelta(minutes=minutes),
                started_at=at + dt.timedelta(minutes=20), marked_by=by,
            )  # fmt: skip

    def _prediction(self, line: ProductLine, mix: Mapping[str, float]) -> Prediction:
        key = (line.pk, tuple(mix.items()))
        if key not in self._predicted:
            zone = ZoneInput(8.0, 0.0, 0.0, 0.0, natural_level=5.0)
            self._predicted[key] = suggestion.predict_mix(line=line, zone=zone, parts=mix)
        return copy.deepcopy(self._predicted[key])


def ordinary_salon(past: Past, stylists: list[Staff], *, clients: int = 9) -> list[Client]:
    """Tell of clients of two lines who came every six weeks, with nothing wrong."""
    lines = [past.line("Tidepool"), past.line("Slatecliff")]
    found = []
    for n in range(clients):
        client = past.client(f"Client {n + 1}")
        found.append(client)
        for back in range(6, 0, -1):
            past.visit(
                client, lines[n % 2], stylists[n % len(stylists)], days_ago=42 * back - 30 + n
            )
    return found
