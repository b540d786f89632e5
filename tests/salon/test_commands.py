import io
import sqlite3
import tarfile
from pathlib import Path
from unittest import mock

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from pytest_django import Settings

from salon.models import Salon, Staff


def _found(password: str, **options: str) -> str:
    out = io.StringIO()
    with mock.patch("sys.stdin", io.StringIO(password + "\n")):
        call_command(
            "found_salon", name="Corner House", currency="gbp", owner="ada", owner_name="Ada",
            stdout=out,
            **{"time_zone": "Europe/Dublin", **options},
        )  # fmt: skip
    return out.getvalue()


@pytest.mark.django_db
def test_founding_by_command_gives_an_owner_who_can_sign_in() -> None:
    assert "Corner House is founded" in _found("three kettles and a lamp")

    assert Salon.objects.get().currency == "GBP"
    assert Staff.objects.get(username="ada").check_password("three kettles and a lamp")


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("password", "options", "said"),
    [
        ("short", {}, "too short"),
        ("three kettles and a lamp", {"time_zone": "Mars/Olympus"}, "not a time zone"),
    ],
)
def test_founding_refuses_with_the_reason_and_writes_nothing(
    password: str, options: dict[str, object] | dict[str, str], said: str
) -> None:
    with pytest.raises(CommandError, match=said):
        _found(password, **options)

    assert not Salon.objects.exists()


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor != "sqlite", reason="an embedded database")
def test_a_backup_is_whole_and_never_overwrites(tmp_path: Path) -> None:
    Salon.objects.create(name="Corner House")

    call_command("backup", tmp_path / "copy.sqlite3", stdout=io.StringIO())

    assert b"Corner House" not in (tmp_path / "copy.sqlite3").read_bytes()
    call_command(
        "encrypted_file", tmp_path / "copy.sqlite3", tmp_path / "open.sqlite3", open=True
    )
    with sqlite3.connect(tmp_path / "open.sqlite3") as copy:
        assert copy.execute("SELECT name FROM salon_salon").fetchall() == [("Corner House",)]
    copy.close()
    with pytest.raises(CommandError, match="exists"):
        call_command("backup", tmp_path / "copy.sqlite3")


@pytest.mark.django_db
@pytest.mark.parametrize("fault", [OSError("No space left on device"), KeyboardInterrupt()])
def test_half_a_backup_gets_no_name(
    tmp_path: Path, settings: Settings, fault: BaseException
) -> None:
    settings.MEDIA_ROOT = tmp_path / "media"
    (tmp_path / "media").mkdir()
    (tmp_path / "media" / "one.jpg").write_bytes(b"picture")
    file = tmp_path / "photos.tar"

    with (
        mock.patch.object(tarfile.TarFile, "addfile", side_effect=fault),
        pytest.raises(type(fault)),
    ):
        call_command("backup", file, photos_only=True, stdout=io.StringIO())
    assert [path.name for path in tmp_path.iterdir()] == ["media"]
    call_command("backup", file, photos_only=True, stdout=io.StringIO())

    assert file.exists()


@pytest.mark.django_db(transaction=True)
def test_a_backup_holds_the_photos_and_is_private(tmp_path: Path, settings: Settings) -> None:
    settings.MEDIA_ROOT = tmp_path / "media"
    (settings.MEDIA_ROOT / "photos" / "1").mkdir(parents=True)
    (settings.MEDIA_ROOT / "photos" / "1" / "ab.jpg").write_bytes(b"a photo")
    (settings.MEDIA_ROOT / "photos" / "1" / "away.jpg").symlink_to("/etc/hostname")
    only = connection.vendor != "sqlite"
    file = tmp_path / "copy"

    call_command("backup", file, photos_only=only, stdout=io.StringIO())

    archive = file if only else tmp_path / "copy.photos.tar"
    assert b"a photo" not in archive.read_bytes()
    call_command("encrypted_file", archive, tmp_path / "open.tar", open=True)
    with tarfile.open(tmp_path / "open.tar") as tar:
        assert tar.getnames() == ["photos/1/ab.jpg"]
        content = tar.extractfile("photos/1/ab.jpg")
        assert content is not None
        assert content.read() == b"a photo"
    assert file.stat().st_mode & 0o077 == archive.stat().st_mode & 0o077 == 0
