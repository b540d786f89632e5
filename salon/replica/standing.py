"""How far the replica is, and whether that is near enough to be read.

PostgreSQL says when the last transaction was that the replica has replayed. Where nothing is
written that is long ago and yet nothing is missing, so positions in the log are compared first.
"""

import datetime as dt
import logging
import re
import time
from collections import deque
from dataclasses import dataclass

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, Error, connections

from salon.replica.router import REPLICA

log = logging.getLogger(__name__)
PAUSE = 30.0  # seconds before a replica that did not answer is asked again
WAIT, STEP = 2.0, 0.02  # seconds
APART = 0.5  # seconds between two positions that are kept
_POSITION = re.compile(r"([0-9A-F]{1,8})/([0-9A-F]{1,8})")
_AT_REPLICA = (
    "SELECT pg_is_in_recovery(), pg_last_wal_replay_lsn()::text,"
    " extract(epoch FROM clock_timestamp() - pg_last_xact_replay_timestamp())"
)


@dataclass(frozen=True)
class Standing:
    """What the replica has: up to which position, and how old that is at most."""

    position: int
    age: dt.timedelta | None  # None: nobody can say


class NoReplica(Exception):
    """Raised with the reason why the replica cannot be read."""


@dataclass
class _Known:
    """What this process has seen: where the database was at which moment, what was logged."""

    seen: deque[tuple[float, int]]
    asks_again_at: float = 0.0
    reason: str = ""


_known = _Known(deque(maxlen=600))


def is_set() -> bool:
    """Return whether this installation has a replica."""
    return REPLICA in settings.DATABASES


def position(text: str) -> int | None:
    """Return a position in PostgreSQL's log ("16/B374D848") as a number."""
    found = _POSITION.fullmatch(text)
    return (int(found[1], 16) << 32) + int(found[2], 16) if found else None


def written_position() -> str:
    """Return where the database's log is now, unwritten pages included."""
    with connections[DEFAULT_DB_ALIAS].cursor() as cursor:
        cursor.execute("SELECT pg_current_wal_insert_lsn()::text")
        return str(cursor.fetchone()[0])


def look() -> Standing:
    """Ask both databases where they are; raise `NoReplica` if the replica does not say."""
    moment = time.monotonic()
    with connections[DEFAULT_DB_ALIAS].cursor() as cursor:
        cursor.execute("SELECT pg_current_wal_lsn()::text")
        here = position(cursor.fetchone()[0]) or 0
    if not _known.seen or moment - _known.seen[-1][0] > APART:
        _known.seen.append((moment, here))
    try:
        with connections[REPLICA].cursor() as cursor:
            cursor.execute(_AT_REPLICA)
            is_replica, text, since_last = cursor.fetchone()
    except Error as error:
        connections[REPLICA].close()
        raise NoReplica(f"it does not answer ({str(error).strip()})") from error
    if not is_replica:
        raise NoReplica("the database at DATABASE_REPLICA_URL is no replica")
    there = position(text or "") or 0
    return Standing(there, _age(there, here, since_last))


def _age(there: int, here: int, since_last: float | None) -> dt.timedelta | None:
    """Return how old the replica's rows are at most.

    It has all that was written before the latest moment at which this process saw the database
    no farther than the replica is now.
    """
    if there >= here:
        return dt.timedelta()
    now = time.monotonic()
    ages = [now - moment for moment, seen in list(_known.seen) if seen <= there]
    if since_last is not None:
        ages.append(max(0.0, float(since_last)))
    return dt.timedelta(seconds=min(ages)) if ages else None


def look_twice() -> Standing:
    """Return the replica's standing after it had time to take what was just written."""
    end, found = time.monotonic() + WAIT, look()
    while found.age != dt.timedelta() and time.monotonic() < end:
        time.sleep(STEP)
        found = look()
    return found


def readable(*, written: str = "") -> Standing | None:
    """Return the replica's standing, or None where the database itself is to be read.

    `written` is where the log was after the reader's last write. What is odd about the replica
    goes into the log once, not to the reader.
    """
    if not is_set() or time.monotonic() < _known.asks_again_at:
        return None
    try:
        standing = look()
    except NoReplica as error:
        give_up(str(error))
        return None
    most = dt.timedelta(minutes=settings.REPLICA_MOST_MINUTES)
    if standing.age is None or standing.age > most:
        _note(f"it is more than {settings.REPLICA_MOST_MINUTES} minutes behind")
        return None
    if _known.reason:
        log.warning("The replica is read again.")
        _known.reason = ""
    needed = position(written) if written else 0
    return standing if needed is not None and standing.position >= needed else None


def caught_up() -> Standing | None:
    """Return the replica's standing once it has all that was written until now.

    It is waited for briefly: usually it is some milliseconds behind. A file of people must not
    hold somebody whose data were erased a minute ago.
    """
    if not is_set():
        return None
    written, end = written_position(), time.monotonic() + WAIT
    while True:
        found = readable(written=written)
        if found or _known.reason or time.monotonic() > end:
            return found
        time.sleep(STEP)


def give_up(reason: str) -> None:
    """Leave the replica alone for a while."""
    _known.asks_again_at = time.monotonic() + PAUSE
    _note(reason)


def _note(reason: str) -> None:
    if reason != _known.reason:
        log.warning("The replica is not read: %s", reason)
        _known.reason = reason
