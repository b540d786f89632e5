"""Photos: shown to the bench alone, while the client agrees; deleted for good."""

import datetime as dt
from pathlib import Path

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django import DjangoCaptureOnCommitCallbacks

from clients import selectors, services
from clients.models import (
    Appointment,
    Photo,
    PhotoRemoval,
)
from clients.photos import store as photo_store
from salon.models import Role, Salon, Staff
from tests.factories.clients import AppointmentFactory, ClientFactory
from tests.factories.photos import (
    agree,
    phone_picture,
)
from tests.factories.salon import StaffFactory
from tests.typed import SignIn

pytestmark = pytest.mark.usefixtures("store")
HTMX = {"HX-Request": "true"}


def _files(store: Path) -> list[str]:
    return sorted(path.name for path in store.rglob("*") if path.is_file())


def test_a_photo_is_given_privately_and_as_what_it_is(photo: Photo, tablet: Browser) -> None:
    for name in ("photo", "small_photo"):
        answer = tablet.get(reverse(f"clients:{name}", args=[photo.key]))

        assert answer.status_code == 200
        assert answer.content[:3] == b"\xff\xd8\xff"
        assert answer.headers["Content-Type"] == "image/jpeg"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Cache-Control"] == "private, no-store"
        assert answer.headers["Content-Disposition"].startswith("inline")
        assert "Adichie" not in answer.headers["Content-Disposition"]


def test_a_photo_opens_to_nobody_else(
    photo: Photo, receptionist: Staff, other_salon: Salon, client_for: SignIn, store: Path
) -> None:
    address = reverse("clients:photo", args=[photo.key])
    elsewhere = client_for(StaffFactory(salon=other_salon, role=Role.OWNER))

    assert Browser().get(address).status_code == 302
    assert client_for(receptionist).get(address).status_code == 403
    assert elsewhere.get(address).status_code == 404
    for guess in (
        f"/media/photos/{photo.salon_id}/{photo.key.hex}.jpg",
        f"/static/photos/{photo.key.hex}.jpg",
        f"/var/media/photos/{photo.salon_id}/{photo.key.hex}.jpg",
        f"/static/../var/media/photos/{photo.salon_id}/{photo.key.hex}.jpg",
    ):
        assert Browser().get(guess).status_code == 404
    assert "static" not in photo_store.name_of(photo.salon_id, photo.key).split("/")


def test_the_words_of_a_photo_say_moment_part_and_day(photo: Photo, tablet: Browser) -> None:
    page = tablet.get(reverse("clients:photos", args=[photo.appointment_id])).content.decode()

    assert 'alt="Before, lengths, 11 March"' in page


def test_a_withdrawn_consent_hides_every_photo_at_once(
    photo: Photo, tablet: Browser, store: Path
) -> None:
    tablet.post(
        reverse("clients:photo_consent", args=[photo.appointment_id, "before"]),
        {"is_given": "0"},
        headers=HTMX,
    )

    assert tablet.get(reverse("clients:photo", args=[photo.key])).status_code == 404
    assert tablet.get(reverse("clients:small_photo", args=[photo.key])).status_code == 404
    key = str(photo.key)
    for address in (
        reverse("clients:photos", args=[photo.appointment_id]),
        reverse("clients:photo_history", args=[photo.client_id]),
        reverse("clients:photo_shelf", args=[photo.appointment_id, "both"]),
    ):
        assert key not in tablet.get(address).content.decode()
    assert len(_files(store)) == 2


def test_the_owner_is_offered_the_deletion_and_it_is_real(
    photo: Photo,
    owner: Staff,
    client_for: SignIn,
    store: Path,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    later = photo.taken_at + dt.timedelta(minutes=1)
    agree(photo.appointment, owner, later, given=False)
    browser = client_for(owner)
    assert "Ngozi Adichie" in browser.get(reverse("clients:withdrawn_photos")).content.decode()
    hint = browser.get(reverse("clients:withdrawn_photos"), headers=HTMX).content.decode()
    assert "1 client has withdrawn" in hint
    assert (
        "1 photo"
        in browser.get(reverse("clients:care", args=[photo.client_id])).content.decode()
    )

    with django_capture_on_commit_callbacks(execute=True):
        browser.post(reverse("clients:delete_photos", args=[photo.client_id]))

    assert _files(store) == []
    removal = PhotoRemoval.objects.get()
    assert (removal.photo, removal.reason, removal.removed_by) == (photo, "withdrawn", owner)
    assert Photo.objects.get() == photo
    page = browser.get(reverse("clients:withdrawn_photos")).content.decode()
    assert "Nothing to delete" in page


def test_photos_with_consent_are_not_swept_away(
    photo: Photo, owner: Staff, now: dt.datetime, store: Path
) -> None:
    with pytest.raises(services.PhotoRefused):
        services.delete_withdrawn_photos(client=photo.client, by=owner, at=now)

    assert len(_files(store)) == 2


def test_a_wrong_photo_is_deleted_with_its_reason_and_stays_on_record(
    photo: Photo,
    tablet: Browser,
    stylist: Staff,
    store: Path,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    address = reverse("clients:remove_photo", args=[photo.key])
    assert tablet.post(address, {"reason": "withdrawn"}, headers=HTMX).status_code == 422

    with django_capture_on_commit_callbacks(execute=True):
        answer = tablet.post(address, {"reason": "wrong_person"}, headers=HTMX)

    told = [entry.what for entry in selectors.client_timeline(client=photo.client)]
    assert {"photo taken", "photo deleted"} <= set(told)
    assert "1 photo deleted" in answer.content.decode()
    assert "shows someone else" in answer.content.decode()
    assert _files(store) == []
    assert tablet.get(reverse("clients:photo", args=[photo.key])).status_code == 404
    assert PhotoRemoval.objects.get().removed_by == stylist
    assert tablet.post(address, {"reason": "mistake"}, headers=HTMX).status_code == 404


def test_rows_of_photos_are_kept_by_the_database(
    photo: Photo, append_only_triggers: None
) -> None:
    for statement in ("DELETE FROM clients_photo", "UPDATE clients_photo SET part = 'ends'"):
        with (
            pytest.raises(DatabaseError),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(statement)


@pytest.mark.parametrize(
    "wrong", [{"moment": "during"}, {"part": "beard"}, {"width": 0}, {"height": 0}]
)
def test_the_database_refuses_a_photo_that_makes_no_sense(
    seated: Appointment, stylist: Staff, now: dt.datetime, wrong: dict[str, object]
) -> None:
    right = {"moment": "before", "part": "ends", "width": 9, "height": 9, "digest": "0" * 64}
    with pytest.raises(IntegrityError), transaction.atomic():
        Photo.objects.create(
            salon=seated.salon, client=seated.client, appointment=seated, taken_at=now,
            taken_by=stylist, **{**right, **wrong},
        )  # fmt: skip


def test_a_removal_needs_a_known_reason(photo: Photo, stylist: Staff, now: dt.datetime) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        PhotoRemoval.objects.create(
            photo=photo, reason="whim", removed_at=now, removed_by=stylist
        )


def test_photos_follow_the_person_through_a_merge(
    photo: Photo, receptionist: Staff, now: dt.datetime
) -> None:
    kept = ClientFactory(salon=photo.salon)

    services.merge_clients(kept=kept, merged=photo.client, by=receptionist, at=now)

    assert [s.before for s in selectors.sittings(client=kept)] == [[photo]]
    agree(AppointmentFactory(client=kept), receptionist, now + dt.timedelta(hours=1), False)
    assert selectors.withdrawn_with_photos(salon=photo.salon) == [(kept, 1)]


def test_a_page_of_photos_does_not_grow_in_queries(
    photo: Photo, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    pages = [
        reverse("clients:photos", args=[photo.appointment_id]),
        reverse("clients:photo_history", args=[photo.client_id]),
    ]

    def count() -> list[int]:
        found = []
        for page in pages:
            with CaptureQueriesContext(connection) as captured:
                assert tablet.get(page).status_code == 200
            found.append(len(captured))
        return found

    count()  # the first look at a record is noted, which is a write
    before = count()
    for moment in ("before", "after"):
        services.take_photo(
            appointment=photo.appointment, picture=phone_picture(), moment=moment, by=stylist,
            at=now,
        )  # fmt: skip

    assert count() == before
