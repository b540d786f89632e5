"""The worker: a thread for each lane of the queue, and the clock."""

import logging
import os
import signal
import socket
import threading
from types import FrameType

from django.db import DatabaseError, close_old_connections, connection
from django.utils.crypto import get_random_string
from django_tasks import DEFAULT_TASK_BACKEND_ALIAS
from django_tasks_db.management.commands.db_worker import Worker as OneTask
from django_tasks_db.models import DBTaskResult

from salon.work import lanes, lease, timetable

log = logging.getLogger(__name__)

# SQLite has no queue of writers: who waits asks again, at most every tenth of a second (its
# default busy handler, from memory). A lane that went from piece to piece would be first each
# time, and people at the desk would wait for many of them.
TURN = 0.15


class Lane(threading.Thread):
    """Does the tasks of one lane, one after the other, until it is asked to stop."""

    def __init__(
        self, worker: str, lane: str, *, stop: threading.Event, interval: float
    ) -> None:
        super().__init__(name=f"lane-{lane}")
        self.lane, self.stop, self.interval = lane, stop, interval
        self.holder = lease.holder(worker, lane)

    def run(self) -> None:
        """Do tasks until it is asked to stop; a database that is away is waited for."""
        is_in_doubt = False
        while not self.stop.is_set():
            try:
                close_old_connections()
                if is_in_doubt:
                    lease.release(self.holder)
                    is_in_doubt = False
                was_one = self._do_one()
                if pause := self._pause(was_one=was_one):
                    self.stop.wait(pause)
            except DatabaseError:
                log.warning("lane %s: no answer from the database", self.lane)
                is_in_doubt = True
                self.stop.wait(max(self.interval, 1))
        connection.close()

    def _pause(self, *, was_one: bool) -> float:
        """Return the seconds until the next task is asked for."""
        if not was_one:
            return self.interval
        return TURN if self.lane == lanes.LONG and connection.vendor == "sqlite" else 0.0

    def _do_one(self) -> bool:
        """Do the next task; return whether there was one."""
        # Asked first without the write lock that the library takes on SQLite.
        if not DBTaskResult.objects.ready().filter(queue_name=self.lane).exists():
            return False
        OneTask(
            queue_names=[self.lane],
            interval=self.interval,
            batch=True,
            backend_name=DEFAULT_TASK_BACKEND_ALIAS,
            startup_delay=False,
            max_tasks=1,
            worker_id=self.holder,
            excluded_queue_names=[],
        ).run()
        return True


class Worker:
    """Runs the lanes, renews its lease, takes up what others left, and minds the timetable."""

    def __init__(
        self, *, lease_seconds: float, interval: float, with_timetable: bool, parent: int | None
    ) -> None:
        self.name = f"{socket.gethostname()[:24]}-{os.getpid()}-{get_random_string(8)}"
        self.lease_seconds, self.interval = lease_seconds, interval
        self.with_timetable, self.parent = with_timetable, parent
        self.stop = threading.Event()

    def run(self) -> None:
        """Work until a signal asks to stop; then end the tasks in hand."""
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._ask_to_stop)
        self._mind()
        working = [
            Lane(self.name, lane, stop=self.stop, interval=self.interval)
            for lane in lanes.LANES
        ]
        for lane in working:
            lane.start()
        beat = self.lease_seconds / 4
        while not self.stop.wait(min(beat, 5)):
            if self.parent and os.getppid() != self.parent:
                self.stop.set()
            self._mind()
        for lane in working:  # what is in hand stays its own until it is done
            while lane.is_alive():
                lane.join(beat)
                self._renew()
        self._end()

    def _ask_to_stop(self, number: int, frame: FrameType | None) -> None:
        self.stop.set()

    def _mind(self) -> None:
        close_old_connections()
        try:
            lease.renew(self.name, seconds=self.lease_seconds)
            lease.take_up_again()
            if self.with_timetable and not self.stop.is_set():
                timetable.queue_due()
        except DatabaseError:
            log.warning("no answer from the database, trying again")

    def _renew(self) -> None:
        try:
            close_old_connections()
            lease.renew(self.name, seconds=self.lease_seconds)
        except DatabaseError:
            log.warning("no answer from the database, trying again")

    def _end(self) -> None:
        try:
            lease.end(self.name)
        except DatabaseError:
            log.warning("no answer from the database, the lease ends by itself")
