"""Workers killed by SIGKILL while a file is made: it ends whole and is stored once."""

import datetime as dt
from functools import partial

import pytest
from django.db import connection
from django.utils import timezone

from clients.models import Client
from salon import media
from salon.files import services, store, tidying
from salon.models import AuditEvent, FileState, PreparedFile, Role
from tests.factories.salon import StaffFactory
from tests.workers import Workers, is_done

ROWS = 30_000


@pytest.mark.slow
def test_killed_three_times_a_file_ends_whole_and_once(workers: Workers) -> None:
    owner = StaffFactory(role=Role.OWNER)
    now = timezone.now()
    Client.objects.bulk_create(
        [
            Client(
                salon=owner.salon, name=f"Guest {number:05d}", search_name=f"{number:05d}",
                registered_at=now,
            )
            for number in range(ROWS)
        ],
        batch_size=500,
    )  # fmt: skip
    file = services.ask_for_file(kind="clients_csv", arguments={}, by=owner, at=now)

    def is_past(turn: int) -> bool:
        """Return whether a turn has begun and written rows, or is over."""
        file.refresh_from_db()
        return file.turn >= turn and (file.rows_done > 0 or not file.is_open)

    for turn in (1, 2, 3):
        worker = workers.worker()
        workers.kill_where(partial(is_past, turn), worker)
        assert (file.turn, file.state) == (turn, FileState.RUNNING)
        connection.close()
        PreparedFile.objects.update(rows_done=0)  # the next turn is seen by its own
    last = workers.worker()
    workers.until(is_done, last)
    workers.stop(last)

    file.refresh_from_db()
    assert (file.state, file.turn, file.rows_done) == (FileState.DONE, 4, ROWS)
    # Killed between storing a file and naming it, a turn leaves a file that goes by the clock.
    tidying._sweep(timezone.now() + tidying.STRAY_AFTER)
    lying = [one.name for one in media.media().files(f"{store.FOLDER}/{owner.salon_id}")]
    assert lying == [file.stored]
    content = b"".join(services.fetch_file(file=file, by=owner, at=timezone.now()))
    names = [line.split(b",")[0] for line in content.splitlines()[1:]]
    assert names == [f"Guest {number:05d}".encode() for number in range(ROWS)]
    assert AuditEvent.objects.filter(kind="clients exported").count() == 1
    assert file.expires_at is not None
    assert file.expires_at - timezone.now() > tidying.KEPT - dt.timedelta(hours=1)
