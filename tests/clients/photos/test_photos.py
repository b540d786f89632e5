"""Photos: asked for once, taken without anything of the camera."""

import datetime as dt
import io
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.urls import reverse
from PIL import Image, ImageFile

from clients import services
from clients.models import (
    Appointment,
    Consent,
    ConsentKind,
    Photo,
    Status,
)
from clients.photos import store as photo_store
from salon.models import AuditEvent, Staff
from tests.factories.photos import (
    GPS_IFD,
    REFUSED,
    agree,
    from_a_phone,
    octets,
    phone_picture,
    two_halves,
)
from tests.typed import Answer

pytestmark = pytest.mark.usefixtures("store")
HTMX = {"HX-Request": "true"}


def _post(tablet: Browser, one: Appointment, content: bytes, **more: Any) -> Answer:
    return tablet.post(
        reverse("clients:take_photo", args=[one.pk, "before"]),
        {"file": SimpleUploadedFile("Ngozi Adichie.jpg", content, "image/jpeg"), **more},
        headers=HTMX,
    )


def _files(store: Path) -> list[str]:
    return sorted(path.name for path in store.rglob("*") if path.is_file())


def test_the_tablet_asks_once_and_keeps_the_words_and_who_asked(
    seated: Appointment, tablet: Browser, stylist: Staff
) -> None:
    shelf = reverse("clients:photo_shelf", args=[seated.pk, "before"])
    asked = tablet.get(shelf, headers=HTMX).content.decode()
    assert "I agree that the salon takes photos of my hair" in asked
    assert 'type="file"' not in asked

    answer = tablet.post(
        reverse("clients:photo_consent", args=[seated.pk, "before"]),
        {"is_given": "1"},
        headers=HTMX,
    )

    consent = Consent.objects.get(kind=ConsentKind.PHOTOS)
    assert (consent.is_given, consent.recorded_by) == (True, stylist)
    assert "photos of my hair" in consent.wording
    assert 'capture="environment"' in answer.content.decode()
    again = tablet.get(shelf, headers=HTMX).content.decode()
    assert f"asked by \u2068{stylist.display_name}\u2069" in again
    assert "Ask the client once" not in again


def test_the_same_answer_twice_is_one(seated: Appointment, tablet: Browser) -> None:
    address = reverse("clients:photo_consent", args=[seated.pk, "before"])

    for _ in range(2):
        tablet.post(address, {"is_given": "0"}, headers=HTMX)

    assert Consent.objects.filter(kind=ConsentKind.PHOTOS).count() == 1


def test_without_consent_nothing_is_kept(
    seated: Appointment, tablet: Browser, store: Path
) -> None:
    answer = _post(tablet, seated, from_a_phone())

    assert answer.status_code == 422
    assert "has not agreed to photos" in answer.content.decode()
    assert not Photo.objects.exists()
    assert _files(store) == []


def test_a_photo_is_kept_without_anything_of_the_camera_or_the_name(
    seated: Appointment, tablet: Browser, stylist: Staff, now: dt.datetime, store: Path
) -> None:
    agree(seated, stylist, now)

    answer = _post(tablet, seated, from_a_phone(), part="ends")

    assert answer.status_code == 204
    photo = Photo.objects.get()
    assert (photo.moment, photo.part, photo.taken_by) == ("before", "ends", stylist)
    assert _files(store) == [f"{photo.key.hex}-small.jpg", f"{photo.key.hex}.jpg"]
    path = store / photo_store.name_of(photo.salon_id, photo.key)
    assert path.stat().st_mode & 0o077 == 0
    content = photo_store.read(photo)
    assert b"Exif" not in content
    assert b"GPS" not in content
    assert dict(Image.open(io.BytesIO(content)).getexif().get_ifd(GPS_IFD)) == {}
    event = AuditEvent.objects.get(kind="photo taken")
    assert event.detail == {"moment": "before"}


@pytest.fixture
def has_printed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the process read pictures that are cut off, as WeasyPrint does for a card."""
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)


@pytest.mark.usefixtures("has_printed")
@pytest.mark.parametrize("name", REFUSED)
def test_an_upload_that_is_no_photo_is_told_so(
    name: str, seated: Appointment, tablet: Browser, now: dt.datetime, store: Path
) -> None:
    agree(seated, seated.stylist, now)
    content, word = REFUSED[name]

    answer = _post(tablet, seated, content())

    assert answer.status_code == 422
    assert word in answer.content.decode()
    assert _files(store) == []


def test_a_form_without_a_file_says_so_on_the_page(
    seated: Appointment, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    agree(seated, stylist, now)

    answer = tablet.post(reverse("clients:take_photo", args=[seated.pk, "after"]))

    assert answer.status_code == 422
    assert "Take a photo first." in answer.content.decode()


def test_a_photo_sent_twice_is_kept_once(
    seated: Appointment, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    agree(seated, stylist, now)
    key = "5b0c3f5e-3d5c-4d58-9a53-8a2f3b6f9d11"

    first = _post(tablet, seated, from_a_phone(), once=key)
    second = _post(tablet, seated, from_a_phone(), once=key)

    assert first.headers["HX-Redirect"] == second.headers["HX-Redirect"]
    assert Photo.objects.count() == 1


def test_a_client_who_is_not_here_is_not_photographed(
    seated: Appointment, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    agree(seated, stylist, now)
    Appointment.objects.update(status=Status.BOOKED)

    assert "Check in first" in _post(tablet, seated, from_a_phone()).content.decode()


def test_there_is_an_end_to_photos_of_one_visit(
    photo: Photo, tablet: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("clients.services.photos.MOST", 1)

    assert (
        "Remove one first" in _post(tablet, photo.appointment, from_a_phone()).content.decode()
    )


def test_a_failed_write_leaves_no_file(
    seated: Appointment,
    stylist: Staff,
    now: dt.datetime,
    store: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    agree(seated, stylist, now)

    def fail(*args: object, **kwargs: object) -> None:
        raise RuntimeError

    monkeypatch.setattr("clients.services.photos.audit.record_event", fail)
    with pytest.raises(RuntimeError):
        services.take_photo(
            appointment=seated, picture=phone_picture(), moment="after", by=stylist, at=now
        )

    assert _files(store) == []
    assert not Photo.objects.exists()


def test_too_large_a_body_is_refused_before_it_is_read(
    seated: Appointment, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    agree(seated, stylist, now)
    address = reverse("clients:take_photo", args=[seated.pk, "before"])

    class Unread(io.BytesIO):
        def read(self, *args: object) -> bytes:
            pytest.fail("read")

    unread: dict[str, Any] = {"wsgi.input": Unread()}

    answer = tablet.generic(
        "POST",
        address,
        b"",
        content_type="multipart/form-data; boundary=x",
        CONTENT_LENGTH=str(60 * 1024 * 1024),
        **unread,
    )

    assert answer.status_code == 413
    assert "12 MB" in answer.content.decode()


def test_a_stranger_may_send_no_large_body(db: None) -> None:
    answer = Browser().post(
        "/sign-in/", {"file": SimpleUploadedFile("a", b"0" * 6 * 1024 * 1024)}
    )

    assert answer.status_code == 413


def test_a_plain_png_is_kept_as_well(
    seated: Appointment, tablet: Browser, stylist: Staff, now: dt.datetime
) -> None:
    agree(seated, stylist, now)

    assert _post(tablet, seated, octets(two_halves(), "PNG")).status_code == 204
