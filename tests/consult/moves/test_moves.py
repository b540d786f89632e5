"""A client moves between branches: what has to be agreed, what is copied, and what is not."""

import datetime as dt
import json

import pytest
from django.apps import apps
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, connection, transaction

from clients.models import (
    Client,
    Consent,
    MoveState,
    ReceivedRecord,
    RecordMove,
)
from clients.sealed.fields import PREFIX
from consult import services
from consult.agreement.strokes import SignatureEmpty
from consult.history import from_elsewhere
from consult.portability.copies import COPIED
from consult.portability.tables import STAYS, TABLES
from salon.linked_salons.links import salons_of_same_owner
from salon.models import AuditEvent, Role
from tests.consult.moves.conftest import Branches, events
from tests.factories.consult import SIGNATURE
from tests.factories.salon import SalonFactory, StaffFactory
from tests.typed import present

DAY = dt.timedelta(days=1)


def test_every_table_of_the_clients_file_is_copied_or_stays_on_purpose() -> None:
    labels = {table.label for table in TABLES}

    assert set(STAYS) < labels
    assert {table.label for table in COPIED} == labels - set(STAYS)


def test_only_salons_of_the_same_owner_are_offered(branches: Branches) -> None:
    stranger = StaffFactory(salon=SalonFactory(name="Strangers"), role=Role.OWNER)

    assert salons_of_same_owner(branches.here.salon) == [branches.there.salon]
    with pytest.raises(services.MoveRefused, match="not linked"):
        services.ask_move(
            client=branches.client, to_salon=stranger.salon, method="typed",
            signed_name="Ada Brandt", by=branches.here, at=branches.at,
        )  # fmt: skip


def test_a_signature_and_the_other_salons_word_make_one_copy(branches: Branches) -> None:
    move = branches.ask(method="drawn", drawn=SIGNATURE)
    consent = Consent.objects.get(kind="record_move")
    assert (consent.is_given, consent.signed_name) == (True, "Ada Brandt")
    assert json.loads(consent.strokes)
    assert branches.there.salon.name in consent.wording
    assert not ReceivedRecord.objects.exists()
    assert not Client.objects.filter(salon=branches.there.salon).exists()

    record = branches.receive(move)

    copied = Client.objects.get(salon=branches.there.salon)
    assert (copied.name, copied.birth_date) == ("Ada Brandt", dt.date(1990, 5, 1))
    assert record.client == copied
    content = ReceivedRecord.objects.get().content
    assert content["patchtest"][0]["batch"] == "B1"
    part = content["colour_visits"][0]["parts"][0]
    assert part["result"]["level"] == "6.5"
    assert part["mixes"][0]["poured"]
    assert part["predicted"]["level"]["value"] > 0
    move.refresh_from_db()
    assert (move.state, move.received) == (MoveState.RECEIVED, record)
    assert events(branches.here) == ["record move signed", "record given"]
    assert events(branches.there) == ["record move signed", "record received"]
    by_desk = AuditEvent.objects.get(kind="record received")
    assert (by_desk.salon, by_desk.actor_id) == (branches.there.salon, branches.desk.pk)


def test_the_words_are_closed_in_the_database_under_the_key_of_the_client_there(
    branches: Branches,
) -> None:
    branches.receive(branches.ask())

    with connection.cursor() as cursor:
        cursor.execute("SELECT content FROM clients_receivedrecord")
        stored = cursor.fetchone()[0]
        cursor.execute("SELECT signed_name FROM clients_consent WHERE kind = 'record_move'")
        name = cursor.fetchone()[0]
    assert stored.startswith(PREFIX)
    assert name.startswith(PREFIX)
    key = apps.get_model("clients.ClientKey").objects.get(pk=stored.split(":")[1])
    assert key.client.salon == branches.there.salon


def test_nobody_takes_a_record_without_the_clients_signature(branches: Branches) -> None:
    """Neither by making the row of a move in one's own salon, nor by signing there."""
    with pytest.raises(PermissionDenied):
        branches.ask(by=branches.there)
    with pytest.raises(services.MoveRefused, match="Type the name"):
        branches.ask(signed_name=" 3 ")
    with pytest.raises(PermissionDenied):
        services.receive_record(move=branches.ask(), by=branches.here, at=branches.at)
    stylist = StaffFactory(salon=branches.there.salon, role=Role.STYLIST)
    with pytest.raises(PermissionDenied):
        services.receive_record(move=RecordMove.objects.get(), by=stylist, at=branches.at)
    assert not ReceivedRecord.objects.exists()


def test_an_empty_signature_is_none(branches: Branches) -> None:
    with pytest.raises(SignatureEmpty, match="Nothing is drawn"):
        branches.ask(method="drawn", drawn="[]")
    assert not RecordMove.objects.exists()


def test_a_guardian_signs_for_a_minor(branches: Branches) -> None:
    Client.objects.filter(pk=branches.client.pk).update(
        birth_date=branches.at.date() - dt.timedelta(days=17 * 365)
    )
    with pytest.raises(services.MoveRefused, match="parent or guardian"):
        branches.ask()

    branches.ask(signed_name="Berta Brandt")

    consent = Consent.objects.get(kind="record_move")
    assert consent.guardian == consent.signed_name == "Berta Brandt"
    assert consent.wording.startswith("As parent or guardian")


def test_twice_is_once(branches: Branches) -> None:
    move = branches.ask()
    with pytest.raises(services.MoveRefused, match="already"):
        branches.ask()
    branches.receive(move)
    with pytest.raises(services.MoveRefused, match="no longer waits"):
        branches.receive(move)
    assert ReceivedRecord.objects.count() == 1
    assert Client.objects.filter(salon=branches.there.salon).count() == 1


def test_the_database_itself_keeps_one_wish_at_a_time(branches: Branches) -> None:
    move = branches.ask()
    move.pk = None
    move.consent = Consent.objects.create(
        client=branches.client, kind="record_move", wording="x", is_given=True,
        recorded_by=branches.here, recorded_at=branches.at,
    )  # fmt: skip
    with pytest.raises(IntegrityError), transaction.atomic():
        move.save(force_insert=True)


def test_withdrawn_before_it_is_received_nothing_is_copied(branches: Branches) -> None:
    move = branches.ask()
    services.withdraw_move(move=move, by=branches.here, at=branches.at)

    with pytest.raises(services.MoveRefused, match="no longer waits"):
        branches.receive(move)
    with pytest.raises(services.MoveRefused, match="settled"):
        services.withdraw_move(move=move, by=branches.here, at=branches.at)
    assert not ReceivedRecord.objects.exists()
    last = Consent.objects.filter(kind="record_move").first()
    assert not present(last).is_given
    assert from_elsewhere.moves_to_receive(branches.there.salon) == []
    assert branches.ask().state == MoveState.WAITING  # she may change her mind again


def test_withdrawn_afterwards_the_other_salon_is_told_and_deletes(branches: Branches) -> None:
    move = branches.ask()
    record = branches.receive(move)
    services.withdraw_move(move=move, by=branches.here, at=branches.at)

    assert list(from_elsewhere.withdrawn_copies(branches.there.salon)) == [record]
    assert ReceivedRecord.objects.get().content  # nothing is reached across salons
    with pytest.raises(PermissionDenied):
        services.delete_received_record(record=record, by=branches.desk, at=branches.at)
    with pytest.raises(PermissionDenied):
        services.delete_received_record(record=record, by=branches.here, at=branches.at)
    services.delete_received_record(record=record, by=branches.there, at=branches.at)

    record.refresh_from_db()
    assert (record.content, record.photos) == ({}, [])
    assert events(branches.here)[-1] == "copy deleted there"
    assert not from_elsewhere.withdrawn_copies(branches.there.salon).exists()
    with pytest.raises(services.MoveRefused, match="deleted already"):
        services.delete_received_record(record=record, by=branches.there, at=branches.at)


def test_declined_nothing_is_copied(branches: Branches) -> None:
    move = branches.ask()
    services.refuse_move(move=move, by=branches.desk, at=branches.at)

    with pytest.raises(services.MoveRefused, match="no longer waits"):
        branches.receive(move)
    assert "record move refused" in events(branches.here)
    assert not ReceivedRecord.objects.exists()


def test_joined_by_hand_and_across_birth_dates_by_an_owner_only(branches: Branches) -> None:
    known = Client.objects.create(
        salon=branches.there.salon, name="Ada Brandt", registered_at=branches.at,
        birth_date=dt.date(1991, 5, 1),
    )  # fmt: skip
    move = branches.ask()
    with pytest.raises(services.MoveRefused, match="birth dates differ"):
        branches.receive(move, known)

    record = services.receive_record(move=move, client=known, by=branches.there, at=branches.at)

    assert record.client == known
    known.refresh_from_db()
    assert known.birth_date == dt.date(1991, 5, 1)  # nothing of the entry is changed
    assert Client.objects.filter(salon=branches.there.salon).count() == 1


def test_nobody_is_joined_with_a_client_of_a_third_salon(branches: Branches) -> None:
    strange = Client.objects.create(
        salon=SalonFactory(), name="Ada Brandt", registered_at=branches.at
    )
    with pytest.raises(PermissionDenied):
        branches.receive(branches.ask(), strange)
