"""Photos that go along with the copy of a record, by a consent of their own."""

import datetime as dt
import io
import uuid
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client as Browser
from django.urls import reverse

from clients import services as desk
from clients.models import ReceivedRecord, RecordMove
from clients.photos import received, store
from clients.selectors import photos as photo_selectors
from clients.selectors import privacy
from clients.services.photos import take_photo
from consult import services
from salon import media
from salon.selectors import policy_in_force
from tests.consult.moves.conftest import Branches, page_of, sign_move
from tests.factories import photos as pictures
from tests.typed import SignIn


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
    assert sign_move(leaving, photographed, has_photos="on").status_code == 302
    move = RecordMove.objects.get(state="waiting")
    assert "gets the photos of my hair" in move.consent.wording

    record = photographed.receive(move, plain.client)

    [photo] = _photos_there(record)
    address = reverse("consult:received_photo", args=[record.pk, photo.key])
    boss = client_for(photographed.there)
    assert address in page_of(boss.get(reverse("consult:received_record", args=[record.pk])))
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
