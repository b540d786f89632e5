"""Between two pieces of long work others write: SQLite keeps no order of writers."""

import threading

import pytest
from django.db import connection

from salon.work import lanes, worker

SQLITE = connection.vendor == "sqlite"


class Stop(threading.Event):
    """Notes how long a lane waits, and asks it to stop after three turns."""

    def __init__(self) -> None:
        super().__init__()
        self.waits: list[float | None] = []
        self.turns = 0

    def is_set(self) -> bool:
        self.turns += 1
        return self.turns > 3

    def wait(self, timeout: float | None = None) -> bool:
        self.waits.append(timeout)
        return False


@pytest.mark.parametrize(
    ("lane", "has_work", "pause"),
    [
        (lanes.LONG, True, worker.TURN if SQLITE else None),
        (lanes.QUICK, True, None),
        (lanes.LONG, False, 2.0),
        (lanes.QUICK, False, 2.0),
    ],
)
def test_a_lane_stands_back_after_a_piece_and_waits_where_nothing_is_to_do(
    monkeypatch: pytest.MonkeyPatch,
    lane: str,
    has_work: bool,
    pause: float | None,
) -> None:
    stop = Stop()
    monkeypatch.setattr(worker.Lane, "_do_one", lambda self: has_work)
    monkeypatch.setattr(worker, "close_old_connections", lambda: None)
    monkeypatch.setattr("salon.work.worker.connection.close", lambda: None)

    worker.Lane("w", lane, stop=stop, interval=2.0).run()

    assert stop.waits == ([pause] * 3 if pause else [])


def test_a_turn_is_longer_than_a_writer_of_sqlite_sleeps() -> None:
    """The last of its delays is 100 ms (sqliteDefaultBusyCallback, from memory)."""
    assert worker.TURN > 0.1
