"""Workers killed by SIGKILL while a list of thousands of visits is made: whole, and once."""

from functools import partial
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.utils import timezone
from pytest_django import Settings

from consult.models import Visit
from salon import media
from salon.files import services, store
from salon.models import AuditEvent, FileState, PreparedFile, Role, Staff
from tests.workers import Workers, is_done

VISITS = 20_000  # so many that a quick machine does not list them at once


@pytest.fixture(autouse=True)
def own_folder(settings: Settings, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.mark.slow
def test_killed_twice_a_list_of_visits_names_each_once(workers: Workers) -> None:
    call_command("fill_salon", clients=2_000, visits=VISITS, stylists=15, whole=0)
    now, owner = timezone.now(), Staff.objects.filter(role=Role.OWNER)[0]
    first = now.date().replace(year=now.year - 2, day=1).isoformat()
    asked = {
        "table": "visits", "kind": "every", "part": "",
        "first": first, "last": now.date().isoformat(),
    }  # fmt: skip
    file = services.ask_for_file(kind="results_csv", arguments=asked, by=owner, at=now)
    listed = Visit.objects.closed().filter(opened_at__date__gte=first).count()
    assert file.rows_expected == listed > 10_000

    def is_past(turn: int) -> bool:
        """Return whether a turn has begun and written rows, or is over."""
        file.refresh_from_db()
        return file.turn >= turn and (file.rows_done > 0 or not file.is_open)

    for turn in (1, 2):
        worker = workers.worker()
        workers.kill_where(partial(is_past, turn), worker)
        assert (file.turn, file.state) == (turn, FileState.RUNNING)
        connection.close()
        PreparedFile.objects.update(rows_done=0)  # the next turn is seen by its own
    last = workers.worker()
    workers.until(is_done, last)
    workers.stop(last)

    file.refresh_from_db()
    assert (file.state, file.turn, file.rows_done) == (FileState.DONE, 3, listed)
    lying = [one.name for one in media.media().files(f"{store.FOLDER}/{owner.salon_id}")]
    assert lying == [file.stored]
    content = b"".join(services.fetch_file(file=file, by=owner, at=timezone.now()))
    assert len(content.splitlines()) == 1 + listed
    assert AuditEvent.objects.filter(kind="results exported").count() == 1
