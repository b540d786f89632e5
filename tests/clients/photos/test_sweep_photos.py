"""Files and rows of photos after a crash."""

import io
import os
from pathlib import Path
from uuid import uuid4

from django.core.management import call_command

from clients.models import Photo
from clients.photos import store as photo_store
from tests.factories.photos import phone_picture


def _sweep(**options: object) -> str:
    out = io.StringIO()
    call_command("sweep_photos", stdout=out, **options)
    return out.getvalue()


def test_a_left_over_file_is_deleted_and_a_fresh_one_is_left(photo: Photo, store: Path) -> None:
    old, fresh = uuid4(), uuid4()
    for key in (old, fresh):
        stray = Photo(salon_id=photo.salon_id, client_id=photo.client_id, key=key)
        photo_store.put(stray, phone_picture())
    for size in (photo_store.ORDINARY, photo_store.SMALL):
        os.utime(store / photo_store.name_of(photo.salon_id, old, size), (0, 0))

    assert "1 left-over pictures would be deleted" in _sweep(dry_run=True)
    assert "1 left-over pictures deleted; 1 stand" in _sweep()

    keys = {key for _, key, _ in photo_store.stored_keys()}
    assert keys == {photo.key, fresh}


def test_a_photo_without_its_file_is_named(photo: Photo, store: Path) -> None:
    photo_store.remove(photo.salon_id, photo.key)

    assert f"the file of photo {photo.key} is missing" in _sweep()
