"""The pages of a move: signed on the tablet here, received at the desk there, read, deleted."""

import datetime as dt
import uuid

from django.test import Client as Browser
from django.urls import reverse

from clients import services as desk
from clients.models import Client, MoveState, ReceivedRecord, RecordAccess, RecordMove
from salon.models import Role
from tests.consult.moves.conftest import Branches, page_of, sign_move
from tests.factories.salon import SalonFactory, StaffFactory
from tests.typed import SignIn


def test_from_the_signature_to_the_page_that_is_read(
    branches: Branches, leaving: Browser, front: Browser, client_for: SignIn
) -> None:
    address = reverse("consult:move_record", args=[branches.client.pk])
    care = page_of(leaving.get(reverse("clients:care", args=[branches.client.pk])))
    assert address in care
    assert branches.there.salon.name in page_of(leaving.get(address))
    words = page_of(leaving.get(f"{address}?to={branches.there.salon_id}"))
    assert f"I agree that {branches.here.salon.name} gives" in words
    found = reverse("clients:find")
    assert "to receive" not in page_of(front.get(found))

    assert sign_move(leaving, branches).status_code == 302

    assert "waits for the other salon" in page_of(leaving.get(address))
    assert "1 record to receive from another salon" in page_of(front.get(found))
    assert "to receive" not in page_of(leaving.get(found))
    assert "Ada Brandt" in page_of(front.get(reverse("consult:records_to_receive")))
    receiving = reverse("consult:receive_record", args=[RecordMove.objects.get().pk])
    assert "A new client" in page_of(front.get(receiving))
    answer = front.post(receiving, {"whom": "new", "once": str(uuid.uuid4())})
    record = ReceivedRecord.objects.get()
    page = reverse("consult:received_record", args=[record.pk])
    assert answer.headers["Location"] == page
    text = page_of(front.get(page))
    assert "Does not count here" in text
    assert "Colour visits" not in text  # not the desk's
    assert RecordAccess.objects.get(kind="visit").client == record.client
    assert page in page_of(front.get(reverse("clients:detail", args=[record.client_id])))
    boss = page_of(client_for(branches.there).get(page))
    assert "as dark as level 6.5" in boss
    assert "developer" in boss
    assert "has a copy since" in page_of(leaving.get(address))


def test_what_is_wrong_is_beside_its_field_and_nothing_typed_is_lost(
    branches: Branches, leaving: Browser, front: Browser
) -> None:
    text = page_of(
        sign_move(leaving, branches, has_understood="", signed_name="Zoë Brandt"), 422
    )
    assert "The client has to agree first." in text
    assert 'value="Zoë Brandt"' in text
    assert "Nothing is drawn yet" in page_of(
        sign_move(leaving, branches, signature_strokes=""), 422
    )
    assert not RecordMove.objects.exists()

    move = branches.ask()
    receiving = reverse("consult:receive_record", args=[move.pk])
    assert "Choose who it is" in page_of(front.post(receiving), 422)
    assert "Choose again" in page_of(front.post(receiving, {"whom": "999"}), 422)
    assert not ReceivedRecord.objects.exists()


def test_a_double_click_is_one_signature_and_one_copy(
    branches: Branches, leaving: Browser, front: Browser
) -> None:
    key = str(uuid.uuid4())
    assert [sign_move(leaving, branches, once=key).status_code for _n in range(2)] == [302, 302]
    move = RecordMove.objects.get()
    receiving = reverse("consult:receive_record", args=[move.pk])
    fields = {"whom": "new", "once": str(uuid.uuid4())}
    first, second = front.post(receiving, fields), front.post(receiving, fields)

    assert first.headers["Location"] == second.headers["Location"]
    assert ReceivedRecord.objects.count() == 1
    late = front.post(receiving, {**fields, "once": str(uuid.uuid4())})
    assert late.headers["Location"] == reverse("consult:records_to_receive")


def test_who_looks_the_same_is_offered_and_joined_by_hand(
    branches: Branches, front: Browser
) -> None:
    known = desk.register_client(
        name="Ada Brandt", birth_date=dt.date(1990, 5, 1), by=branches.desk, at=branches.at
    )
    receiving = reverse("consult:receive_record", args=[branches.ask().pk])
    text = page_of(front.get(receiving))
    assert f"number {known.pk}" in text
    assert "checked" not in text.split("<form")[-2]

    front.post(receiving, {"whom": str(known.pk), "once": str(uuid.uuid4())})

    assert ReceivedRecord.objects.get().client == known
    assert Client.objects.filter(salon=branches.there.salon).count() == 1


def test_nothing_of_it_is_seen_by_strangers(
    branches: Branches, client_for: SignIn, leaving: Browser
) -> None:
    stranger = StaffFactory(salon=SalonFactory(), role=Role.OWNER)
    nobody = client_for(stranger)
    record = branches.receive(branches.ask())
    waiting = branches.ask(at=branches.at + dt.timedelta(days=1))
    for name in ("received_record", "put_back_record"):
        address = reverse(f"consult:{name}", args=[record.pk])
        assert nobody.get(address).status_code == 404
        assert leaving.get(address).status_code == 404  # nor by the salon that gave it
    for name in ("receive_record", "refuse_record", "withdraw_move"):
        address = reverse(f"consult:{name}", args=[waiting.pk])
        assert nobody.post(address).status_code == 404
    assert nobody.post(reverse("consult:delete_received", args=[record.pk])).status_code == 404
    own = Client.objects.create(salon=stranger.salon, name="Own", registered_at=branches.at)
    address = reverse("consult:move_record", args=[own.pk])
    assert branches.there.salon.name not in page_of(nobody.get(address))
    assert nobody.post(f"{address}?to={branches.there.salon_id}").status_code == 404


def test_withdrawn_and_deleted_by_buttons(
    branches: Branches, leaving: Browser, front: Browser, client_for: SignIn
) -> None:
    move = branches.ask()
    record = branches.receive(move)
    boss = client_for(branches.there)
    rights = reverse("clients:rights", args=[branches.client.pk])
    told = page_of(client_for(branches.here).get(rights))
    assert f"\u2068{branches.there.salon.name}\u2069 has a copy of this record" in told
    there = page_of(boss.get(reverse("clients:rights", args=[record.client_id])))
    assert "It is erased with this record." in there

    leaving.post(reverse("consult:withdraw_move", args=[move.pk]))

    assert "Copies to delete" in page_of(front.get(reverse("consult:records_to_receive")))
    page = reverse("consult:received_record", args=[record.pk])
    assert "An owner deletes this copy." in page_of(boss.get(page))
    assert front.post(reverse("consult:delete_received", args=[record.pk])).status_code == 403
    boss.post(reverse("consult:delete_received", args=[record.pk]))
    assert boss.get(page).status_code == 404
    assert "has a copy" not in page_of(client_for(branches.here).get(rights))


def test_declined_by_a_button(branches: Branches, front: Browser) -> None:
    move = branches.ask()
    front.post(reverse("consult:refuse_record", args=[move.pk]))

    move.refresh_from_db()
    assert move.state == MoveState.REFUSED


def test_one_person_does_not_take_it_from_a_client(branches: Branches, front: Browser) -> None:
    record = branches.receive(branches.ask())
    address = reverse("consult:put_back_record", args=[record.pk])
    assert "Two people do this" in page_of(front.get(address))

    assert "cannot do this alone" in page_of(front.post(address), 422)

    assert ReceivedRecord.objects.get().deleted_at is None


def test_who_withdrew_the_consent_there_is_read_by_owners_only(
    branches: Branches, front: Browser, client_for: SignIn
) -> None:
    record = branches.receive(branches.ask())
    desk.record_consent(
        client=record.client, kind="health_record", wording="I agree", is_given=False,
        by=branches.there, at=branches.at,
    )  # fmt: skip
    page = reverse("consult:received_record", args=[record.pk])

    assert front.get(page).status_code == 403
    assert client_for(branches.there).get(page).status_code == 200
