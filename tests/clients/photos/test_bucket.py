"""The same photos in an object store that speaks S3 (moto stands for it)."""

import datetime as dt
import io
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.core.management import call_command
from django.db import connection
from django.test import Client as Browser
from django.urls import reverse
from moto import mock_aws
from pytest_django import DjangoCaptureOnCommitCallbacks, Settings

from clients import services
from clients.models import Appointment, Photo, RemovalReason
from clients.photos import store as photo_store
from salon import media, media_setting
from salon.backups import photos as photo_backups
from salon.backups.files import BackupFailed
from salon.models import Staff
from tests.clients.photos.test_photos import _post
from tests.factories.photos import agree, from_a_phone, phone_picture
from tests.salon.mailing.server import closed_port

ADDRESS = "s3://desk:a%2Fsecret@pictures/corner?region=eu-west-1"
EVERYBODY = "http://acs.amazonaws.com/groups/global/AllUsers"  # S3's own name for it


@pytest.fixture
def objects(settings: Settings) -> Iterator[Any]:
    """An empty bucket, and the installation set to it."""
    with mock_aws():
        import boto3

        bucket = boto3.resource("s3", region_name="eu-west-1").Bucket("pictures")
        bucket.create(CreateBucketConfiguration={"LocationConstraint": "eu-west-1"})
        settings.STORAGES = {
            **settings.STORAGES,
            "default": media_setting.backend(ADDRESS),
        }
        yield bucket


@pytest.fixture
def stored(objects: Any, seated: Appointment, stylist: Staff, now: dt.datetime) -> Photo:
    agree(seated, stylist, now)
    return services.take_photo(
        appointment=seated, picture=phone_picture(), moment="before", by=stylist, at=now
    )


def _keys(objects: Any) -> list[str]:
    return sorted(found.key for found in objects.objects.all())


def test_a_photo_goes_to_the_bucket_encrypted_and_is_passed_on(
    objects: Any, seated: Appointment, stylist: Staff, tablet: Browser, now: dt.datetime
) -> None:
    agree(seated, stylist, now)

    assert _post(tablet, seated, from_a_phone(), part="ends").status_code == 204

    photo = Photo.objects.get()
    name = f"corner/photos/{photo.salon_id}/{photo.key.hex}"
    assert _keys(objects) == [f"{name}-small.jpg", f"{name}.jpg"]
    kept = objects.Object(f"{name}.jpg")
    content = kept.get()["Body"].read()
    assert content.startswith(photo_store.MARK)
    assert b"\xff\xd8\xff" not in content[:64]
    assert kept.content_type == "application/octet-stream"
    grants = [grant["Grantee"].get("URI") for grant in kept.Acl().grants]
    assert EVERYBODY not in grants
    answer = tablet.get(reverse("clients:photo", args=[photo.key]))
    assert answer.status_code == 200
    assert answer.content == photo_store.read(photo)
    with pytest.raises(ValueError, match="no address"):
        media.media().url(name)  # type: ignore[attr-defined]


def test_a_removed_photo_is_gone_from_the_bucket(
    objects: Any,
    stored: Photo,
    stylist: Staff,
    tablet: Browser,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        services.remove_photo(
            photo=stored, reason=RemovalReason.MISTAKE, by=stylist, at=stored.taken_at
        )

    assert _keys(objects) == []
    assert tablet.get(reverse("clients:photo", args=[stored.key])).status_code in {404, 410}
    with pytest.raises(FileNotFoundError):
        photo_store.read(stored)


def test_a_name_that_is_taken_is_not_written_over(objects: Any, stored: Photo) -> None:
    before = photo_store.read(stored)

    with pytest.raises(FileExistsError):
        photo_store.put_file(stored, photo_store.ORDINARY, b"another")

    assert photo_store.read(stored) == before
    assert len(_keys(objects)) == 2


def test_plain_ones_are_encrypted_where_they_are(objects: Any, stored: Photo) -> None:
    picture = phone_picture()
    for size, content in zip(photo_store.SIZES, (picture.content, picture.small), strict=True):
        name = photo_store.name_of(stored.salon_id, stored.key, size)
        media.media().replace(name, content)
    out = io.StringIO()

    call_command("encrypt_photos", stdout=out)

    assert out.getvalue() == "1 photos encrypted.\n"
    assert photo_store.read(stored) == picture.content
    for found in objects.objects.all():
        assert found.get()["Body"].read().startswith(photo_store.MARK)


def test_leftovers_in_the_bucket_are_swept(objects: Any, stored: Photo) -> None:
    stray = Photo(salon_id=stored.salon_id, client_id=stored.client_id, key=uuid4())
    photo_store.put(stray, phone_picture())
    out = io.StringIO()

    call_command("sweep_photos", stdout=out)
    with time_machine.travel(dt.datetime.now(dt.UTC) + dt.timedelta(hours=2)):
        call_command("sweep_photos", stdout=out)

    assert [line.split(";")[0] for line in out.getvalue().splitlines()] == [
        "0 left-over pictures deleted",
        "1 left-over pictures deleted",
    ]
    assert {key for _, key, _ in photo_store.stored_keys()} == {stored.key}


def test_a_backup_of_the_bucket_goes_back_into_a_folder_and_the_reverse(
    objects: Any, stored: Photo, settings: Settings, tmp_path: Path
) -> None:
    archive, digests = tmp_path / "photos.tar", photo_backups.digests()
    call_command("backup", archive, photos_only=True, stdout=io.StringIO())
    with pytest.raises(BackupFailed, match="the bucket pictures"):
        photo_backups.put_back(archive)
    in_bucket = settings.STORAGES

    settings.STORAGES = {**in_bucket, "default": media_setting.backend("")}
    settings.MEDIA_ROOT = tmp_path / "media"
    assert photo_backups.put_back(archive) == 2
    assert photo_backups.digests() == digests

    objects.objects.all().delete()
    settings.STORAGES = in_bucket
    assert photo_backups.put_back(archive) == 2
    assert photo_backups.digests() == digests
    assert photo_store.read(stored)[:3] == b"\xff\xd8\xff"


@pytest.mark.slow
@pytest.mark.skipif(connection.vendor != "sqlite", reason="of no interest to PostgreSQL")
def test_a_process_with_a_folder_does_not_load_the_library() -> None:
    code = (
        "import os, sys, django; os.environ['DJANGO_SETTINGS_MODULE'] = 'salon.settings';"
        "import salon.wsgi; from django.core.files.storage import default_storage;"
        "default_storage.exists('x'); sys.exit('boto3' in sys.modules)"
    )

    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize(
    ("address", "options"),
    [
        ("s3://pictures", {"bucket_name": "pictures", "addressing_style": "auto"}),
        (
            "s3://me:it%2Fs@pictures/a/b/?endpoint=https://store.example:9000&style=path",
            {
                "bucket_name": "pictures",
                "location": "a/b",
                "endpoint_url": "https://store.example:9000",
                "addressing_style": "path",
                "access_key": "me",
                "secret_key": "it/s",
            },
        ),
    ],
)
def test_the_setting_names_bucket_store_and_key(address: str, options: dict[str, str]) -> None:
    assert media_setting.backend(address)["OPTIONS"] == options


@pytest.mark.parametrize(
    "odd", ["pictures", "https://store.example/pictures", "s3://", "s3://pictures?acl=public"]
)
def test_an_address_that_nobody_understands_is_refused(odd: str) -> None:
    with pytest.raises(media_setting.NoPlace, match="MEDIA_STORAGE"):
        media_setting.backend(odd)


@pytest.fixture
def away(
    objects: Any, stored: Photo, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> Photo:
    """A photo in a store that has stopped: nobody listens at its address any more."""
    address = f"s3://desk:a@pictures?endpoint=http://127.0.0.1:{closed_port()}&style=path"
    settings.STORAGES = {**settings.STORAGES, "default": media_setting.backend(address)}
    monkeypatch.setattr("botocore.endpoint.time.sleep", lambda _seconds: None)
    return stored


def test_without_the_store_only_the_pictures_are_missing(away: Photo, tablet: Browser) -> None:
    """RFC 9110, 15.6.4: 503, and when to ask again."""
    tablet.raise_request_exception = False

    page = tablet.get(reverse("clients:photos", args=[away.appointment_id]))
    shown = tablet.get(reverse("clients:photo", args=[away.key]))

    address = reverse("clients:small_photo", args=[away.key])
    assert page.status_code == 200
    assert address in page.text
    assert (shown.status_code, shown["Retry-After"]) == (503, "5")
    assert "The place of the photos does not answer" in shown.text
    assert "Everything else works." in shown.text


def test_a_photo_that_cannot_be_kept_is_refused_beside_its_form(
    away: Photo, seated: Appointment, tablet: Browser
) -> None:
    answer = _post(tablet, seated, from_a_phone(), part="ends")

    assert answer.status_code == 422
    assert "The place of the photos does not answer. Try again in a moment." in answer.text
    assert Photo.objects.get() == away


def test_a_store_that_refuses_its_key_shows_a_message_too(
    objects: Any, stored: Photo, tablet: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    """S3's AccessDenied (403), as after a key was withdrawn."""
    from botocore.exceptions import ClientError

    def denied(*_args: object, **_more: object) -> None:
        raise ClientError(
            {"Error": {"Code": "AccessDenied"}, "ResponseMetadata": {"HTTPStatusCode": 403}},
            "HeadObject",
        )

    tablet.raise_request_exception = False
    monkeypatch.setattr("botocore.client.BaseClient._make_api_call", denied)

    shown = tablet.get(reverse("clients:photo", args=[stored.key]))

    assert shown.status_code == 503
    assert "The place of the photos does not answer" in shown.text
