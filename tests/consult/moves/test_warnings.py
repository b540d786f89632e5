"""What comes with a copy: what warns as the salon's own, never what clears.

A dye that a client reacted to must not be used again, whoever's test it was (Regulation (EC)
1223/2009, Annex III: "do not colour your hair if you have ever experienced any reaction").
"""

import datetime as dt

import pytest

from clients import services as desk
from clients.models import (
    AlertCode,
    Client,
    ClientAlert,
    HairHistoryEntry,
    PatchTest,
    RecordMove,
)
from clients.services.register import AlertStays
from clients.skin_test.gate import colour_gate
from clients.skin_test.state import Code, patch_state
from clients.vouching import NeedsSecondPerson
from consult import services
from consult.history import from_elsewhere
from salon.models import Role
from tests.consult.moves.conftest import Branches
from tests.factories.consult import cleared_client
from tests.factories.salon import StaffFactory

DAY = dt.timedelta(days=1)


def _react_here(branches: Branches) -> None:
    """Let the client react to the test of the line of the salon that she leaves."""
    desk.record_patch_test_reading(
        test=PatchTest.objects.get(client=branches.client),
        outcome="reaction",
        signs="red and swollen",
        by=branches.here,
        at=branches.at,
    )


def test_a_clear_test_opens_no_gate_in_another_salon(branches: Branches) -> None:
    """Neither for a line of the same name, nor by joining with a client, nor by waiting."""
    line = branches.line_there("Tidepool")
    record = branches.receive(branches.ask())
    client = record.client

    assert patch_state(client=client, line=line, at=branches.at).code is Code.NONE
    gate = colour_gate(client=client, line=line, at=branches.at + 3 * DAY)
    assert not gate.is_open
    assert not PatchTest.objects.filter(client=client).exists()
    read = from_elsewhere.read(record.content, branches.desk)
    assert [test.line for test in read.tests] == ["Tidepool"]


def test_a_reaction_blocks_the_line_of_that_name_for_good(branches: Branches) -> None:
    line = branches.line_there("  TIDEPOOL ")
    _react_here(branches)
    record = branches.receive(branches.ask())

    state = patch_state(client=record.client, line=line, at=branches.at)
    assert state.code is Code.REACTED
    gate = colour_gate(client=record.client, line=line, at=branches.at)
    assert not gate.may_be_overridden
    alert = ClientAlert.objects.get(client=record.client)
    assert (alert.kind, alert.code, alert.line) == ("reaction", AlertCode.REACTED_THERE, line)
    assert alert.words == (
        f"From \u2068{branches.here.salon.name}\u2069: "
        "Reacted to a patch test: \u2068Tidepool\u2069"
    )
    for who in (branches.desk, branches.there):
        with pytest.raises(AlertStays):
            desk.remove_alert(alert=alert, text="no", by=who, at=branches.at)


def test_a_removed_alert_there_hides_no_reaction_here(branches: Branches) -> None:
    """The reading is what counts, as it does in the salon itself."""
    _react_here(branches)
    alert = ClientAlert.objects.get(client=branches.client)
    desk.remove_alert(alert=alert, text="tidy", by=branches.here, at=branches.at)

    record = branches.receive(branches.ask())

    assert ClientAlert.objects.get(client=record.client).code == AlertCode.REACTED_THERE


def test_a_reaction_to_an_unknown_line_voids_what_was_clear_here(branches: Branches) -> None:
    """As a reaction to another line of one's own does; and the copy deleted changes nothing."""
    line = branches.line_there("Harbour")
    known = cleared_client(branches.there.salon, line, by=branches.there, at=branches.at)
    assert patch_state(client=known, line=line, at=branches.at).code is Code.CLEAR
    _react_here(branches)
    record = branches.receive(branches.ask(), known)
    later = branches.at + DAY

    assert patch_state(client=known, line=line, at=later).code is Code.VOID
    services.delete_received_record(record=record, by=branches.there, at=branches.at)
    assert patch_state(client=known, line=line, at=later).code is Code.VOID
    alert = ClientAlert.objects.get(client=known)
    with pytest.raises(AlertStays):
        desk.remove_alert(alert=alert, text="no", by=branches.there, at=branches.at)


def test_a_line_that_gets_its_name_later_is_blocked_too(branches: Branches) -> None:
    _react_here(branches)
    record = branches.receive(branches.ask())
    line = branches.line_there("Tidepool")

    assert patch_state(client=record.client, line=line, at=branches.at + DAY).code is (
        Code.REACTED
    )


def test_a_reaction_recorded_after_the_moment_asked_for_says_nothing_yet(
    branches: Branches,
) -> None:
    line = branches.line_there("Tidepool")
    _react_here(branches)
    record = branches.receive(branches.ask())

    before = branches.at - DAY
    assert patch_state(client=record.client, line=line, at=before).code is Code.NONE


def test_alerts_come_with_their_salon_and_only_once(branches: Branches) -> None:
    branches.alert(kind="allergy", text="Latex gloves")
    branches.alert(kind="medical", text="Takes blood thinners")
    gone = desk.raise_alert(
        client=branches.client, kind="other", text="late", by=branches.here, at=branches.at
    )
    desk.remove_alert(alert=gone, text="no", by=branches.here, at=branches.at)

    record = branches.receive(branches.ask())

    alerts = {row.kind: row for row in ClientAlert.objects.filter(client=record.client)}
    assert set(alerts) == {"allergy", "medical"}
    name = branches.here.salon.name
    assert alerts["allergy"].words == f"From \u2068{name}\u2069: Latex gloves"
    desk.remove_alert(alert=alerts["allergy"], text="no", by=branches.desk, at=branches.at)
    told = dict(from_elsewhere.read(record.content, branches.there).alerts)
    assert told["medical note"] == "Takes blood thinners"
    hidden = dict(from_elsewhere.read(record.content, branches.desk).alerts)
    assert "blood" not in hidden["medical note"]


def test_the_clients_word_of_a_reaction_comes_as_a_warning(branches: Branches) -> None:
    desk.answer_safety_questions(
        client=branches.client, answers={"reaction_ever": "yes"}, by=branches.here,
        at=branches.at,
    )  # fmt: skip

    record = branches.receive(branches.ask())

    alert = ClientAlert.objects.get(client=record.client)
    assert alert.kind == "reaction"
    assert "caused a reaction before" in alert.words


def test_henna_asks_for_its_test_there_as_well(branches: Branches) -> None:
    how = {"client": branches.client, "origin": "told", "by": branches.here, "at": branches.at}
    today = branches.at.date()
    desk.add_hair_history(work="henna", happened_date=today, note="at home", **how)  # type: ignore[arg-type]
    desk.add_hair_history(work="perm", happened_date=today, **how)  # type: ignore[arg-type]
    known = Client.objects.create(
        salon=branches.there.salon, name="Ada Brandt", registered_at=branches.at
    )
    desk.add_hair_history(
        client=known, work="perm", origin="told", happened_date=today, by=branches.there,
        at=branches.at,
    )  # fmt: skip

    branches.receive(branches.ask(), known)

    rows = HairHistoryEntry.objects.filter(client=known)
    assert sorted(row.work for row in rows) == ["henna", "perm"]
    assert rows.get(work="henna").note == f"{branches.here.salon.name}: at home"


def test_what_came_from_a_third_salon_keeps_its_name(branches: Branches) -> None:
    _react_here(branches)
    record = branches.receive(branches.ask())

    back = services.ask_move(
        client=record.client, to_salon=branches.here.salon, method="typed",
        signed_name="Ada Brandt", by=branches.desk, at=branches.at + DAY,
    )  # fmt: skip
    again = services.receive_record(
        move=back, client=branches.client, by=branches.here, at=branches.at + DAY
    )

    alerts = ClientAlert.objects.filter(client=branches.client, code=AlertCode.REACTED_THERE)
    assert [row.details["salon"] for row in alerts] == [branches.here.salon.name]
    read = from_elsewhere.read(again.content, branches.here)
    assert [one.salon for one in read.earlier] == [branches.here.salon.name]
    assert len(read.earlier[0].visits) == 1


def test_taken_off_the_wrong_client_by_two_and_never_by_one(branches: Branches) -> None:
    """Else an owner could join a reaction with somebody, take it off, and have it forgotten."""
    line = branches.line_there("Tidepool")
    wrong = cleared_client(branches.there.salon, line, by=branches.there, at=branches.at)
    _react_here(branches)
    desk.add_hair_history(
        client=branches.client, work="henna", origin="told",
        happened_date=branches.at.date(), by=branches.here, at=branches.at,
    )  # fmt: skip
    record = branches.receive(branches.ask(), wrong)
    how = {"record": record, "by": branches.there, "at": branches.at}
    for nobody in (None, branches.there, branches.here):
        with pytest.raises(NeedsSecondPerson):
            services.put_back_record(witness=nobody, **how)  # type: ignore[arg-type]

    services.put_back_record(witness=branches.desk, **how)  # type: ignore[arg-type]

    assert patch_state(client=wrong, line=line, at=branches.at).code is Code.CLEAR
    assert not HairHistoryEntry.objects.filter(
        client=wrong, withdraws__isnull=True, withdrawn_by__isnull=True
    ).exists()
    assert from_elsewhere.moves_to_receive(branches.there.salon) == [RecordMove.objects.get()]
    with pytest.raises(services.MoveRefused, match="cannot be put back"):
        services.put_back_record(witness=branches.desk, **how)  # type: ignore[arg-type]
    right = branches.receive(RecordMove.objects.get()).client
    assert right != wrong
    assert patch_state(client=right, line=line, at=branches.at).code is Code.REACTED


def test_put_back_while_a_newer_wish_waits_settles_the_older(branches: Branches) -> None:
    record = branches.receive(branches.ask())
    branches.ask(at=branches.at + DAY)
    second = StaffFactory(salon=branches.there.salon, role=Role.STYLIST)

    services.put_back_record(
        record=record, by=branches.desk, at=branches.at + DAY, witness=second
    )

    states = RecordMove.objects.order_by("pk").values_list("state", flat=True)
    assert list(states) == ["refused", "waiting"]
