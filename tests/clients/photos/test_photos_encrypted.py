"""Photos lie encrypted under their client's key; plain ones of before go on being shown."""

import datetime as dt
import io
from pathlib import Path

import pytest
from django.core.management import call_command
from django.test import Client as Browser
from django.urls import reverse

from clients.models import Photo
from clients.photos import store as photo_store
from clients.sealed import keys
from tests.factories.photos import phone_picture

JPEG = b"\xff\xd8\xff"


def test_a_photo_is_no_picture_on_the_disk(photo: Photo, store: Path) -> None:
    for size in photo_store.SIZES:
        stored = (store / photo_store.name_of(photo.salon_id, photo.key, size)).read_bytes()
        assert stored.startswith(photo_store.MARK)
        assert JPEG not in stored[:64]
        assert photo_store.read(photo, size)[:3] == JPEG


def test_plain_ones_are_shown_and_encrypted_by_a_command(
    photo: Photo, tablet: Browser, store: Path
) -> None:
    picture = phone_picture()
    contents = (picture.content, picture.small)
    paths = [
        store / photo_store.name_of(photo.salon_id, photo.key, one) for one in photo_store.SIZES
    ]
    for path, content in zip(paths, contents, strict=True):
        path.write_bytes(content)
    address = reverse("clients:photo", args=[photo.key])
    assert tablet.get(address).content == picture.content
    out = io.StringIO()

    call_command("encrypt_photos", stdout=out)
    call_command("encrypt_photos", stdout=out)

    assert out.getvalue().splitlines() == ["1 photos encrypted.", "0 photos encrypted."]
    assert all(path.read_bytes().startswith(photo_store.MARK) for path in paths)
    assert all(path.stat().st_mode & 0o077 == 0 for path in paths)
    assert tablet.get(address).content == picture.content


def test_a_destroyed_key_closes_photos_too(
    photo: Photo, tablet: Browser, store: Path, now: dt.datetime
) -> None:
    keys.destroy([photo.client_id], purposes=[keys.Purpose.ORDINARY], at=now)

    assert tablet.get(reverse("clients:photo", args=[photo.key])).status_code == 404
    with pytest.raises(FileNotFoundError):
        photo_store.read(photo)
