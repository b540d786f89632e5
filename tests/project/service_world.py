"""One salon with a record of each kind, for the walk over every service."""

import datetime as dt
from dataclasses import dataclass
from functools import cached_property

from clients.models import (
    Absence,
    Appointment,
    Chair,
    Client,
    ClientAlert,
    ClientImport,
    ClientMerge,
    ClosedDay,
    Consent,
    HairHistoryEntry,
    PatchTest,
    ReceivedRecord,
    RecordMove,
    Reminder,
    Service,
    WaitingEntry,
)
from consult.models import Visit
from formulas.models import ProductLine, Shade
from salon.models import Device, PreparedFile, Salon, Staff
from tests.factories.clients import (
    AppointmentFactory,
    ChairFactory,
    ClientFactory,
    PatchTestFactory,
    ToneFactory,
)
from tests.factories.formulas import LineFactory, ShadeFactory
from tests.factories.salon import SalonFactory

DAY = dt.timedelta(days=1)


@dataclass
class World:
    """One salon with a record of each kind, made when a row asks for it."""

    salon: Salon
    stylist: Staff
    owner: Staff
    at: dt.datetime

    @cached_property
    def client(self) -> Client:
        return ClientFactory(salon=self.salon)

    @cached_property
    def other(self) -> Client:
        return ClientFactory(salon=self.salon)

    @cached_property
    def line(self) -> ProductLine:
        return LineFactory(salon=self.salon)

    @cached_property
    def shade(self) -> Shade:
        return ShadeFactory(line=self.line)

    @cached_property
    def service(self) -> Service:
        return ToneFactory(salon=self.salon)

    @cached_property
    def chair(self) -> Chair:
        return ChairFactory(salon=self.salon)

    @cached_property
    def appointment(self) -> Appointment:
        return AppointmentFactory(
            client=self.client, stylist=self.stylist, service=self.service, line=self.line
        )

    @cached_property
    def visit(self) -> Visit:
        return Visit.objects.create(
            salon=self.salon,
            appointment=self.appointment,
            client=self.client,
            stylist=self.stylist,
            line=self.line,
            opened_at=self.at,
        )

    @cached_property
    def test(self) -> PatchTest:
        return PatchTestFactory(client=self.client, line=self.line, applied_by=self.stylist)

    @cached_property
    def alert(self) -> ClientAlert:
        return ClientAlert.objects.create(
            client=self.client,
            kind="other",
            text="deaf in one ear",
            recorded_at=self.at,
            recorded_by=self.stylist,
        )

    @cached_property
    def absence(self) -> Absence:
        return Absence.objects.create(
            salon=self.salon,
            stylist=self.stylist,
            kind="break",
            starts_at=self.at,
            ends_at=self.at + DAY,
        )

    @cached_property
    def closed(self) -> ClosedDay:
        return ClosedDay.objects.create(salon=self.salon, date=self.at.date())

    @cached_property
    def loaded(self) -> ClientImport:
        return ClientImport.objects.create(
            salon=self.salon,
            file_name="list.csv",
            header=["name"],
            rows=[],
            mapping={},
            row_count=0,
            loaded_at=self.at,
            loaded_by=self.owner,
        )

    @cached_property
    def merge(self) -> ClientMerge:
        return ClientMerge.objects.create(
            salon=self.salon,
            kept=self.client,
            merged=self.other,
            merged_at=self.at,
            merged_by=self.stylist,
        )

    @cached_property
    def hair_history(self) -> HairHistoryEntry:
        return HairHistoryEntry.objects.create(
            client=self.client,
            work="lightening",
            origin="told",
            happened_date=self.at.date(),
            recorded_date=self.at.date(),
            recorded_at=self.at,
            recorded_by=self.stylist,
        )

    @cached_property
    def reminder(self) -> Reminder:
        return Reminder.objects.create(
            salon=self.salon,
            client=self.client,
            kind="appointment",
            key="appointment:1",
            due_at=self.at,
            expires_at=self.at + DAY,
            queued_at=self.at,
            status="failed",
        )

    @cached_property
    def waiting(self) -> WaitingEntry:
        return WaitingEntry.objects.create(
            salon=self.salon,
            client=self.client,
            service=self.service,
            from_date=self.at.date(),
            until_date=self.at.date(),
            added_by=self.stylist,
            added_at=self.at,
        )

    @cached_property
    def device(self) -> Device:
        return Device.objects.create(
            salon=self.salon,
            name="tablet",
            token_hash="x" * 64,
            enrolled_at=self.at,
            enrolled_by=self.owner,
            last_used_at=self.at,
        )

    @cached_property
    def branch(self) -> Salon:
        """Another salon, which no owner has linked: what asks for that refuses it later."""
        return SalonFactory(name="Branch")

    def _move(self, client: Client, to_salon: Salon) -> RecordMove:
        consent = Consent.objects.create(
            client=client, kind="record_move", wording="I agree", is_given=True,
            recorded_by=self.owner, recorded_at=self.at,
        )  # fmt: skip
        return RecordMove.objects.create(
            salon=client.salon, client=client, to_salon=to_salon, consent=consent,
            entries=[client.pk], signed_at=self.at, recorded_by=self.owner,
        )  # fmt: skip

    @cached_property
    def given(self) -> RecordMove:
        return self._move(self.client, self.branch)

    @cached_property
    def to_receive(self) -> RecordMove:
        return self._move(ClientFactory(salon=self.branch), self.salon)

    @cached_property
    def received(self) -> ReceivedRecord:
        return ReceivedRecord.objects.create(
            salon=self.salon,
            client=self.client,
            from_salon="Branch",
            received_at=self.at,
            received_by=self.owner,
        )

    @cached_property
    def file(self) -> PreparedFile:
        return PreparedFile.objects.create(
            salon=self.salon,
            requested_by=self.owner,
            requested_at=self.at,
            kind="clients_csv",
            digest="x" * 64,
            language="en",
        )
