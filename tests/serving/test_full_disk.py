"""The disk is full and freed again: said in words, nothing lost, and work goes on by itself."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest
from django.db import connection

from clients.models import Client
from salon.models import AuditEvent
from tests.project.upgrade.databases import as_default
from tests.serving.conftest import PASSWORD, People
from tests.serving.installation import SITE, Installation
from tests.serving.visitor import Answer, Visitor

MOUNTS = [
    "unshare", "--mount", *([] if os.getuid() == 0 else ["--map-root-user", "--user"]),
]  # fmt: skip
# A disk of its own for this process and its children only; the first argument is its folder.
SMALL_DISK = (
    'mount -t tmpfs -o size=24m,mode=0777 disk "$0" && cp "$1" "$0" && shift && exec "$@"'
)


def _can_mount() -> bool:
    program = shutil.which("unshare")
    return program is not None and not subprocess.run(
        [program, *MOUNTS[1:], "sh", "-c", "mount -t tmpfs probe /mnt"],
        check=False, capture_output=True,
    ).returncode  # fmt: skip


pytestmark = [
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(connection.vendor != "sqlite", reason="fills the disk of a file"),
    pytest.mark.skipif(not _can_mount(), reason="this machine lets nobody mount a small disk"),
]


def test_a_full_disk_is_said_and_loses_nothing(
    installation: Installation, people: People
) -> None:
    disk, filled = installation.folder / "disk", Path(installation.database)
    disk.mkdir()
    database = disk / filled.name
    installation.prefix = (*MOUNTS, "sh", "-c", SMALL_DISK, str(disk), str(filled))
    installation.environment["DATABASE_URL"] = f"sqlite:///{database}"
    web = installation.web()
    seen = Path(f"/proc/{web.process.pid}/root{disk}")  # the disk as that process has it
    desk = Visitor(web.port, SITE)
    desk.sign_in("imke", PASSWORD)
    form = desk.form("/clients/new/")
    kept = [_add(desk, form, "Ada Before")]

    ballast = seen / "ballast"
    _fill(ballast)
    refused: list[Answer] = []
    while not refused or refused[-1].status == 302:  # the last free pages of the file itself
        refused.append(_add(desk, form, f"Nina Full {len(refused)}"))
        _fill(ballast)
    kept += refused[:-1]

    assert refused[-1].status == 507
    assert "disk is full" in refused[-1].text
    assert "not saved" in refused[-1].text
    answer = desk.get("/clients/")
    assert answer.status in {200, 507}, web.said()[-3000:]  # never a bare failure

    ballast.unlink()
    kept.append(_add(desk, form, "Zoe After"))

    assert {answer.status for answer in kept} == {302}
    assert desk.get("/clients/").status == 200
    shutil.copy(seen / filled.name, installation.folder / "afterwards")
    web.stop()
    with as_default(str(installation.folder / "afterwards")) as after:
        with after.cursor() as cursor:
            cursor.execute("PRAGMA integrity_check")
            assert cursor.fetchall() == [("ok",)]
        names = set(Client.objects.values_list("name", flat=True))
        assert {"Ada Before", "Zoe After"} < names
        added = AuditEvent.objects.filter(kind="client registered").count()
        assert added == len(kept)
        assert f"Nina Full {len(refused) - 1}" not in names


def _add(desk: Visitor, form: dict[str, str], name: str) -> Answer:
    from uuid import uuid4

    body = {"name": name, "contact_by": "email", "is_someone_else": "on", "once": str(uuid4())}
    return desk.post("/clients/new/", {**form, **body})


def _fill(ballast: Path) -> None:
    """Write until the disk takes nothing more."""
    with ballast.open("ab", buffering=0) as out:
        for size in (1 << 20, 1 << 12, 1):
            try:
                while out.write(b"\0" * size):
                    pass
            except OSError:
                continue
