"""The pages of a move: signed on the tablet here, received at the desk there, read, deleted."""

import datetime as dt
import html
import io
import uuid
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client as Browser
from django.urls import reverse

from clients import services as desk
from clients.models import Client, MoveState, ReceivedRecord, RecordAccess, RecordMove
from clients.photos import received, store
from clients.selectors import photos as photo_selectors
from clients.selectors import privacy
from clients.services.photos import take_photo
from consult import services
from salon import media
from salon.models import Role
from salon.selectors import policy_in_force
from tests.consult.moves.conftest import Branches
from tests.factories import photos as pictures
from tests.factories.consult import SIGNATURE
from tests.factories.salon import SalonFactory, StaffFactory
from tests.typed import Answer, SignIn


def _page(answer: Answer, status: int = 200) -> str:
    assert answer.status_code == status
    return html.unescape(answer.content.decode())


def _sign(browser: Browser, branches: Branches, **changed: Any) -> Answer:
    address = reverse("consult:move_record", args=[branches.client.pk])
    fields = {
        "method": "drawn", "signed_name": "Ada Brandt", "signature_strokes": SIGNATURE,
        "has_understood": "on", "once": str(uuid.uuid4()),
    }  # fmt: skip
    return browser.post(f"{address}?to={branches.there.salon_id}", {**fields, **changed})


@pytest.fixture
def leaving(client_for: SignIn, branches: Branches) -> Browser:
    """The browser of a stylist of the salon that the client leaves."""
    return client_for(StaffFactory(salon=branches.here.salon, role=Role.STYLIST))


@pytest.fixture
def front(client_for: SignIn, branches: Branches) -> Browser:
    return client_for(branches.desk)


def test_from_the_signature_to_the_page_that_is_read(
    branches: Branches, leaving: Browser, front: Browser, client_for: SignIn
) -> None:
    address = reverse("consult:move_record", args=[branches.client.pk])
    care = _page(leaving.get(reverse("clients:care", args=[branches.client.pk])))
    assert address in care
    assert branches.there.salon.name in _page(leaving.get(address))
    words = _page(leaving.get(f"{address}?to={branches.there.salon_id}"))
    assert f"I agree that {branches.here.salon.name} gives" in words
    found = reverse("clients:find")
    assert "to receive" not in _page(front.get(found))

    assert _sign(leaving, branches).status_code == 302

    assert "waits for the other salon" in _page(leaving.get(address))
    assert "1 record to receive from another salon" in _page(front.get(found))
    assert "to receive" not in _page(leaving.get(found))
    assert "Ada Brandt" in _page(front.get(reverse("consult:records_to_receive")))
    receiving = reverse("consult:receive_record", args=[RecordMove.objects.get().pk])
    assert "A new client" in _page(front.get(receiving))
    answer = front.post(receiving, {"whom": "new", "once": str(uuid.uuid4())})
    record = ReceivedRecord.objects.get()
    page = reverse("consult:received_record", args=[record.pk])
    assert answer.headers["Location"] == page
    text = _page(front.get(page))
    assert "Does not count here" in text
    assert "Colour visits" not in text  # not the desk's
    assert RecordAccess.objects.get(kind="visit").client == record.client
    assert page in _page(front.get(reverse("clients:detail", args=[record.client_id])))
    boss = _page(client_for(branches.there).get(page))
    assert "as dark as level 6.5" in boss
    assert "developer" in boss
    assert "has a copy since" in _page(leaving.get(address))


def test_what_is_wrong_is_beside_its_field_and_nothing_typed_is_lost(
    branches: Branches, leaving: Browser, front: Browser
) -> None:
    text = _page(_sign(leaving, branches, has_understood="", signed_name="Zoë Brandt"), 422)
    assert "The client has to agree first." in text
    assert 'value="Zoë Brandt"' in text
    assert "Nothing is drawn yet" in _page(_sign(leaving, branches, signature_strokes=""), 422)
    assert not RecordMove.objects.exists()

    move = branches.ask()
    receiving = reverse("consult:receive_record", args=[move.pk])
    assert "Choose who it is" in _page(front.post(receiving), 422)
    assert "Choose again" in _page(front.post(receiving, {"whom": "999"}), 422)
    assert not ReceivedRecord.objects.exists()


def test_a_double_click_is_one_signature_and_one_copy(
    branches: Branches, leaving: Browser, front: Browser
) -> None:
    key = str(uuid.uuid4())
    assert [_sign(leaving, branches, once=key).status_code for _n in range(2)] == [302, 302]
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
    text = _page(front.get(receiving))
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
    assert branches.there.salon.name not in _page(nobody.get(address))
    assert nobody.post(f"{address}?to={branches.there.salon_id}").status_code == 404


def test_withdrawn_and_deleted_by_buttons(
    branches: Branches, leaving: Browser, front: Browser, client_for: SignIn
) -> None:
    move = branches.ask()
    record = branches.receive(move)
    boss = client_for(branches.there)
    rights = reverse("clients:rights", args=[branches.client.pk])
    told = _page(client_for(branches.here).get(rights))
    assert f"\u2068{branches.there.salon.name}\u2069 has a copy of this record" in told
    there = _page(boss.get(reverse("clients:rights", args=[record.client_id])))
    assert "It is erased with this record." in there

    leaving.post(reverse("consult:withdraw_move", args=[move.pk]))

    assert "Copies to delete" in _page(front.get(reverse("consult:records_to_receive")))
    page = reverse("consult:received_record", args=[record.pk])
    assert "An owner deletes this copy." in _page(boss.get(page))
    assert front.post(reverse("consult:delete_received", args=[record.pk])).status_code == 403
    boss.post(reverse("consult:delete_received", args=[record.pk]))
    assert boss.get(page).status_code == 404
    assert "has a copy" not in _page(client_for(branches.here).get(rights))


def test_declined_by_a_button(branches: Branches, front: Browser) -> None:
    move = branches.ask()
    front.post(reverse("consult:refuse_record", args=[move.pk]))

    move.refresh_from_db()
    assert move.state == MoveState.REFUSED


def test_one_person_does_not_take_it_from_a_client(branches: Branches, front: Browser) -> None:
    record = branches.receive(branches.ask())
    address = reverse("consult:put_back_record", args=[record.pk])
    assert "Two people do this" in _page(front.get(address))

    assert "cannot do this alone" in _page(front.post(address), 422)

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


@pytest.fixture
def photographed(branches: Branches) -> Branches:
    appointment = branches.client.appointments.get()
    pictures.agree(appointment, branches.here, branches.at)
    take_photo(
        appointment=appointment, picture=pictures.phone_picture(), moment="after",
        by=branches.here, at=branches.at,
    )  # fmt: skip
    return branches


def _photos_there(record: ReceivedRecord) -> list[received.ReceivedPhoto]:
    record.refresh_from_db()
    return received.photos_of(record)


def test_photos_go_by_a_consent_of_their_own(
    photographed: Branches, leaving: Browser, client_for: SignIn
) -> None:
    plain = photographed.receive(photographed.ask())
    assert plain.photos == []
    assert _sign(leaving, photographed, has_photos="on").status_code == 302
    move = RecordMove.objects.get(state="waiting")
    assert "gets the photos of my hair" in move.consent.wording

    record = photographed.receive(move, plain.client)

    [photo] = _photos_there(record)
    address = reverse("consult:received_photo", args=[record.pk, photo.key])
    boss = client_for(photographed.there)
    assert address in _page(boss.get(reverse("consult:received_record", args=[record.pk])))
    answer = boss.get(address)
    assert answer.content[:2] == b"\xff\xd8"  # a JPEG begins so (ITU-T T.81, B.1.1.3)
    assert answer.headers["Cache-Control"] == "private, no-store"
    stored = media.read(store.name_of(photo.salon_id, photo.key))
    assert stored.startswith(store.MARK)  # closed by the key of the client there
    assert (
        boss.get(reverse("consult:received_photo", args=[record.pk, uuid.uuid4()])).status_code
        == 404
    )
    call_command("sweep_photos", stdout=io.StringIO())
    assert store.exists(photo)


def test_photos_are_hidden_and_deleted_where_the_client_withdraws_there(
    photographed: Branches, client_for: SignIn
) -> None:
    record = photographed.receive(photographed.ask(has_photos=True))
    [photo] = _photos_there(record)
    desk.record_consent(
        client=record.client, kind="photos", wording="Photos?", is_given=False,
        by=photographed.there, at=photographed.at,
    )  # fmt: skip
    boss = client_for(photographed.there)
    address = reverse("consult:received_photo", args=[record.pk, photo.key])
    assert boss.get(address).status_code == 404
    assert photo_selectors.photos_left(client=record.client) == 1
    listed = photo_selectors.withdrawn_with_photos(salon=photographed.there.salon)
    assert listed == [(record.client, 1)]

    boss.post(reverse("clients:delete_photos", args=[record.client_id]))

    assert _photos_there(record) == []
    assert len(photo_selectors.stored_photos(client=photographed.client)) == 1  # not reached


def test_photos_go_with_the_copy_and_with_time(
    photographed: Branches, django_capture_on_commit_callbacks: Any
) -> None:
    record = photographed.receive(photographed.ask(has_photos=True))
    [photo] = _photos_there(record)
    years = policy_in_force(salon=photographed.there.salon).photos_keep_years
    late = photographed.at + dt.timedelta(days=366 * years + 1)
    assert (
        privacy.overdue(salon=photographed.there.salon, at=photographed.at).counts()["photos"]
        == 0
    )
    assert privacy.overdue(salon=photographed.there.salon, at=late).counts()["photos"] == 1

    with django_capture_on_commit_callbacks(execute=True):
        desk.run_retention(salon=photographed.there.salon, at=late)

    assert _photos_there(record) == []
    assert not store.exists(photo)
    assert ReceivedRecord.objects.get().content  # the rest has time left


def test_without_consent_to_photos_here_none_goes(photographed: Branches) -> None:
    move = photographed.ask(has_photos=True)
    desk.record_consent(
        client=photographed.client, kind="photos", wording="Photos?", is_given=False,
        by=photographed.here, at=photographed.at + dt.timedelta(minutes=1),
    )  # fmt: skip

    assert photographed.receive(move).photos == []
    with pytest.raises(services.MoveRefused):
        photographed.receive(move)


def test_the_salons_own_export_takes_copied_photos_along(photographed: Branches) -> None:
    from consult.portability.salon_file import _photos

    record = photographed.receive(photographed.ask(has_photos=True))
    keys = [photo.key for photo in _photos(photographed.there.salon)]

    assert keys == [photo.key for photo in _photos_there(record)]
