"""The smallest valid rows of the front desk."""

import datetime as dt
from typing import Any

import factory
from django.utils import timezone

from clients.models import (
    Appointment,
    Chair,
    Client,
    Consent,
    ConsentKind,
    PatchTest,
    PatchTestReading,
    ReadingOutcome,
    Service,
    Site,
)
from clients.people import possible_duplicates, search_index
from salon.models import Role, Staff
from tests.factories.formulas import LineFactory
from tests.factories.salon import SalonFactory, StaffFactory


class ClientFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Client

    salon = factory.SubFactory(SalonFactory)
    name = factory.Sequence(lambda n: f"Client {n}")
    birth_date = dt.date(1985, 6, 1)
    registered_at = factory.LazyFunction(timezone.now)

    @classmethod
    def _create(cls, model_class: type[Client], *args: Any, **fields: Any) -> Client:
        client: Client = super()._create(model_class, *args, **fields)
        search_index.index([client])
        possible_duplicates.refresh([client.pk])
        return client


class ServiceFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Service

    salon = factory.SubFactory(SalonFactory)
    name = factory.Sequence(lambda n: f"Cut {n}")
    application_minutes = 30
    is_colour = False


class ToneFactory(ServiceFactory):
    """A colour service with a gap in which the stylist is free."""

    name = factory.Sequence(lambda n: f"Tone {n}")
    application_minutes = 30
    processing_minutes = 20
    finish_minutes = 25
    is_colour = True


class ChairFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Chair

    salon = factory.SubFactory(SalonFactory)
    name = factory.Sequence(lambda n: f"Chair {n}")


class AppointmentFactory(factory.django.DjangoModelFactory):
    """A bare row, without claims: book through the service where time matters."""

    class Meta:
        model = Appointment

    client = factory.SubFactory(ClientFactory)
    salon = factory.SelfAttribute("client.salon")
    stylist = factory.SubFactory(
        StaffFactory,
        salon=factory.SelfAttribute("..salon"),
        role=Role.STYLIST,
        has_column=True,
    )
    service = factory.SubFactory(ServiceFactory, salon=factory.SelfAttribute("..salon"))
    starts_at = factory.LazyFunction(timezone.now)
    ends_at = factory.LazyAttribute(lambda row: row.service.parts_at(row.starts_at).ends_at)
    processing_from = factory.LazyAttribute(
        lambda row: row.service.parts_at(row.starts_at).processing_from
    )
    processing_until = factory.LazyAttribute(
        lambda row: row.service.parts_at(row.starts_at).processing_until
    )


class PatchTestFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = PatchTest

    client = factory.SubFactory(ClientFactory)
    line = factory.SubFactory(LineFactory, salon=factory.SelfAttribute("..client.salon"))
    site = Site.BEHIND_LEFT_EAR
    batch = "B-100"
    applied_at = factory.LazyFunction(timezone.now)
    recorded_at = factory.SelfAttribute("applied_at")
    applied_by = factory.SubFactory(StaffFactory, salon=factory.SelfAttribute("..client.salon"))


class ReadingFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = PatchTestReading

    test = factory.SubFactory(PatchTestFactory)
    applied_at = factory.SelfAttribute("test.applied_at")
    outcome = ReadingOutcome.NO_REACTION
    signs = factory.LazyAttribute(
        lambda one: "red, itching" if one.outcome == ReadingOutcome.REACTION else ""
    )
    read_at = factory.LazyAttribute(lambda one: one.applied_at + dt.timedelta(hours=48))
    read_by = factory.SelfAttribute("test.applied_by")


def agree(client: Client, *, by: Staff, at: dt.datetime) -> None:
    """Let the client, or a guardian, agree that health data are kept."""
    Consent.objects.create(
        client=client, kind=ConsentKind.HEALTH_RECORD, wording="I agree", is_given=True,
        recorded_by=by, recorded_at=at,
    )  # fmt: skip
