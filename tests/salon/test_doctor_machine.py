"""What the doctor finds about the machine: versions, disk, folders, backups."""

import datetime as dt
import os
import shutil
import sys
from collections import namedtuple
from pathlib import Path
from unittest import mock

import pytest
from django.db import connection
from django.utils import timezone
from pytest_django import Settings

from salon.doctor import Weight, machine
from salon.work import nightly
from tests.salon.doctor import only, production

ROOT = Path(__file__).resolve().parents[2]
Usage = namedtuple("Usage", "total used free")
MB = 1024 * 1024
__all__ = ["production"]
SQLITE = connection.vendor == "sqlite"


def test_python_is_named_where_it_is_too_old(monkeypatch: pytest.MonkeyPatch) -> None:
    assert [one.weight for one in machine.python()] == [Weight.FINE]
    monkeypatch.setattr(sys, "version_info", (3, 10, 4))

    only(list(machine.python()), Weight.WRONG, "This is Python", "3.11")


@pytest.mark.parametrize(
    ("free", "weight"), [(100, Weight.WRONG), (500, Weight.ODD), (50_000, Weight.FINE)]
)
def test_a_disk_is_named_before_it_is_full(
    production: Settings, monkeypatch: pytest.MonkeyPatch, free: int, weight: Weight
) -> None:
    monkeypatch.setattr(shutil, "disk_usage", lambda path: Usage(0, 0, free * MB))

    found = list(machine.disk())

    assert {one.weight for one in found} == {weight}
    assert len(found) == 3  # its own folder, the photos, the backups


def test_a_folder_of_photos_that_cannot_be_written_is_named(production: Settings) -> None:
    assert [one.weight for one in machine.media_folder()] == [Weight.FINE]
    Path(production.MEDIA_ROOT, "photos").rmdir()
    Path(production.MEDIA_ROOT).rmdir()
    Path(production.MEDIA_ROOT).write_text("a file where a folder has to be")

    only(list(machine.media_folder()), Weight.WRONG, "No photo can be stored", "chown")


def test_static_files_that_were_not_collected_are_counted(
    production: Settings, tmp_path: Path
) -> None:
    production.STATIC_ROOT = tmp_path / "static"
    (tmp_path / "static").mkdir()
    production.STORAGES = {
        **production.STORAGES,
        "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
    }

    only(list(machine.static_files()), Weight.WRONG, "are not collected", "collectstatic")


def test_without_backups_it_says_so(production: Settings, tmp_path: Path) -> None:
    only(list(machine.backups()), Weight.WRONG, "There is no backup", "worker")

    now = timezone.now()
    for hours, weight in ((60, Weight.WRONG), (10, Weight.FINE)):
        made = (now - dt.timedelta(hours=hours)).astimezone(dt.UTC)
        (tmp_path / made.strftime(nightly.NAME)).touch()
        (found,) = machine.backups()
        assert found.weight is weight
        assert f"{hours} hours old" in found.sentence

    production.BACKUP_DIR = ""
    only(list(machine.backups()), Weight.ODD, "BACKUP_DIR is not set", "another disk")


def test_anchors_need_a_folder_that_can_be_written(production: Settings) -> None:
    assert list(machine.anchor_folder()) == []
    production.ANCHOR_DIR = ""
    only(list(machine.anchor_folder()), Weight.ODD, "ANCHOR_DIR is not set", "another machine")

    production.ANCHOR_DIR = production.ERASURE_LIST
    with mock.patch.object(os, "access", return_value=False):
        found = list(machine.anchor_folder())
    assert [one.weight for one in found] == [Weight.WRONG, Weight.WRONG]
