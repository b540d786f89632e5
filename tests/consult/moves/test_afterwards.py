"""What happens to a copy later: merged, erased, shut, unlinked, and what time does to it."""

import datetime as dt
import io

import pytest
from django.apps import apps
from django.core.management import call_command

from clients import services as desk
from clients.models import (
    Appointment,
    Client,
    ClientAlert,
    MoveState,
    PatchTest,
    ReceivedRecord,
    RecordMove,
)
from clients.selectors import privacy
from clients.services.health_consent import HealthConsentWithdrawn
from consult import services
from consult.history import from_elsewhere
from consult.models import VisitFigures
from consult.portability.salon_rows import paths
from consult.portability.tables import TABLES
from formulas.models import StockMovement
from salon.linked_salons.services import unlink_accounts
from salon.models import LinkedAccount
from tests.consult.moves.conftest import Branches, events

DAY = dt.timedelta(days=1)


def test_unlinked_since_the_salons_are_strangers_again(branches: Branches) -> None:
    move = branches.ask()
    link = LinkedAccount.objects.get(staff=branches.here)
    unlink_accounts(pk=link.pk, by=branches.here, at=branches.at)

    assert from_elsewhere.moves_to_receive(branches.there.salon) == []
    with pytest.raises(services.MoveRefused, match="not linked"):
        branches.receive(move)


def test_a_password_set_on_the_owners_account_ends_it_too(branches: Branches) -> None:
    move = branches.ask()
    branches.there.set_password("nine green doors and a bell")
    branches.there.save()

    with pytest.raises(services.MoveRefused, match="not linked"):
        branches.receive(move)


def test_merged_since_the_client_signs_again(branches: Branches) -> None:
    """Else one member of staff could merge another client into a signed one, and take both."""
    move = branches.ask()
    other = Client.objects.create(
        salon=branches.here.salon, name="Somebody Else", registered_at=branches.at
    )
    merge = desk.merge_clients(
        kept=branches.client, merged=other, by=branches.here, at=branches.at
    )
    with pytest.raises(services.MoveRefused, match="merged or divided"):
        branches.receive(move)

    desk.undo_merge(merge=merge, by=branches.here, at=branches.at)
    assert branches.receive(RecordMove.objects.get(pk=move.pk)).content["client"][0]["name"]


def test_a_client_who_was_merged_away_has_one_wish_all_the_same(branches: Branches) -> None:
    kept = Client.objects.create(
        salon=branches.here.salon, name="Ada B.", registered_at=branches.at,
        birth_date=branches.client.birth_date,
    )  # fmt: skip
    branches.ask()
    desk.merge_clients(kept=kept, merged=branches.client, by=branches.here, at=branches.at)
    branches.client.refresh_from_db()

    with pytest.raises(services.MoveRefused, match="already"):
        branches.ask(kept)
    with pytest.raises(services.MoveRefused, match="merged or divided"):
        branches.receive(RecordMove.objects.get())


def test_erased_before_it_is_received_nothing_is_left_to_receive(branches: Branches) -> None:
    move = branches.ask()
    how = {"client": branches.client, "by": branches.here}
    Appointment.objects.update(status="done")
    desk.request_erasure(reason="in_person", at=branches.at, **how)  # type: ignore[arg-type]
    assert from_elsewhere.moves_to_receive(branches.there.salon) == [move]  # it can be stopped
    desk.erase_client(at=branches.at + privacy.WAIT, **how)  # type: ignore[arg-type]

    move.refresh_from_db()
    assert move.state == MoveState.ENDED
    with pytest.raises(services.MoveRefused, match="no longer waits"):
        branches.receive(move)
    assert events(branches.there)[-1] == "record move ended"


def test_erased_afterwards_each_salon_has_what_is_its_own(branches: Branches) -> None:
    record = branches.receive(branches.ask())
    Appointment.objects.update(status="done")
    for client, by in ((branches.client, branches.here), (record.client, branches.there)):
        assert ReceivedRecord.objects.get().content
        desk.request_erasure(client=client, reason="in_person", by=by, at=branches.at)
        desk.erase_client(client=client, by=by, at=branches.at + privacy.WAIT)
        client.refresh_from_db()
        assert client.name.startswith("Erased")

    record.refresh_from_db()
    assert record.content == {}
    assert "copy deleted there" in events(branches.here)


def test_a_shut_record_is_not_given(branches: Branches) -> None:
    move = branches.ask()
    Appointment.objects.update(status="done")
    desk.restrict_client(
        client=branches.client, reason="claims", by=branches.here, at=branches.at
    )

    assert from_elsewhere.moves_to_receive(branches.there.salon) == []
    with pytest.raises(services.MoveRefused, match="shut"):
        branches.receive(move)


def test_without_consent_to_keep_health_data_nothing_goes_and_nothing_comes(
    branches: Branches,
) -> None:
    move = branches.ask()
    no = {"kind": "health_record", "wording": "I agree", "is_given": False, "at": branches.at}
    known = Client.objects.create(
        salon=branches.there.salon, name="Ada Brandt", registered_at=branches.at
    )
    desk.record_consent(client=known, by=branches.there, **no)  # type: ignore[arg-type]
    with pytest.raises(HealthConsentWithdrawn):
        branches.receive(move, known)

    desk.record_consent(client=branches.client, by=branches.here, **no)  # type: ignore[arg-type]
    with pytest.raises(services.MoveRefused, match="shut"):
        branches.receive(move)
    with pytest.raises(HealthConsentWithdrawn):
        branches.ask(at=branches.at + DAY)


def test_nothing_of_it_counts_there(branches: Branches) -> None:
    """No visit, no test, no stock, no figure: there is no row that could be counted."""
    before = (
        StockMovement.objects.count(), VisitFigures.objects.count(), PatchTest.objects.count(),
    )  # fmt: skip
    branches.alert(kind="allergy", text="latex")
    branches.receive(branches.ask())

    assert (
        StockMovement.objects.count(), VisitFigures.objects.count(), PatchTest.objects.count(),
    ) == before  # fmt: skip
    theirs = branches.there.salon
    brought = {"clients.Client", "clients.ClientAlert", "clients.ReceivedRecord"}
    for table in TABLES:
        model = apps.get_model(table.label)
        path = "salon" if table.path == "pk" else f"{table.path}__salon"
        found = model._default_manager.filter(**{path: theirs}).exists()
        assert found == (table.label in brought), table.label


def test_a_second_copy_takes_the_place_of_the_first(branches: Branches) -> None:
    branches.alert(kind="allergy", text="latex")
    first = branches.receive(branches.ask())
    later = branches.ask(at=branches.at + DAY)
    second = branches.receive(later, first.client)

    first.refresh_from_db()
    assert first.deleted_at is not None
    assert list(from_elsewhere.copies_of(first.client)) == [second]
    assert ClientAlert.objects.filter(client=first.client).count() == 1  # said once


def test_a_copy_ages_by_the_rules_of_the_salon_that_has_it(branches: Branches) -> None:
    record = branches.receive(branches.ask())
    years = privacy.keep_years(salon=branches.there.salon, at=branches.at)
    Client.objects.filter(pk=record.client_id).update(
        registered_at=branches.at - dt.timedelta(days=366 * years)
    )
    past = branches.at + dt.timedelta(days=365 * years - 3)

    assert privacy.overdue(salon=branches.there.salon, at=past).people == []
    late = branches.at + dt.timedelta(days=366 * years + 1)
    assert privacy.overdue(salon=branches.there.salon, at=late).people == [record.client]
    desk.run_retention(salon=branches.there.salon, at=late)

    record.refresh_from_db()
    assert record.content == {}
    branches.client.refresh_from_db()
    assert branches.client.name == "Ada Brandt"  # the other salon has rules of its own


def test_an_export_of_the_house_takes_copies_along_and_no_move(branches: Branches) -> None:
    labels = {model._meta.label for model in paths()}
    assert "clients.ReceivedRecord" in labels
    assert "clients.RecordMove" not in labels


def test_the_command_counts_and_erases_nothing_early(branches: Branches) -> None:
    branches.receive(branches.ask())
    call_command("retain", stdout=io.StringIO())
    assert ReceivedRecord.objects.get().content
