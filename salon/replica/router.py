"""Which of the two databases a query goes to."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import wraps
from typing import Any, ParamSpec, TypeVar

from django.db import DEFAULT_DB_ALIAS, connections

REPLICA = "replica"
# Who may, and what shuts a record, is never read from a copy.
_ALWAYS_PRIMARY = frozenset({"auth", "contenttypes", "sessions", "axes", "salon"})
_KEYS = "clientkey"

P = ParamSpec("P")
R = TypeVar("R")

_reads_replica: ContextVar[bool] = ContextVar("reads_replica", default=False)


@contextmanager
def reading_replica() -> Iterator[None]:
    """Send what is only read to the replica until the end."""
    token = _reads_replica.set(True)
    try:
        yield
    finally:
        _reads_replica.reset(token)


def on_primary(read: Callable[P, R]) -> Callable[P, R]:
    """Mark a function whose answer must be of this moment, whoever asks."""

    @wraps(read)
    def guarded(*args: P.args, **kwargs: P.kwargs) -> R:
        token = _reads_replica.set(False)
        try:
            return read(*args, **kwargs)
        finally:
            _reads_replica.reset(token)

    return guarded


class ReplicaRouter:
    """Reads inside of `reading_replica` go to the replica, all else to the database itself.

    It always answers: a row that came from the replica would otherwise be saved there.
    """

    def db_for_read(self, model: Any, **hints: Any) -> str:
        """Return the replica only outside of a transaction, which may be about to write."""
        meta = model._meta
        if (
            not _reads_replica.get()
            or (meta.app_label in _ALWAYS_PRIMARY and meta.model_name != "auditevent")
            or meta.model_name == _KEYS
            or connections[DEFAULT_DB_ALIAS].in_atomic_block
        ):
            return DEFAULT_DB_ALIAS
        return REPLICA

    def db_for_write(self, model: Any, **hints: Any) -> str:
        """Return the database itself."""
        return DEFAULT_DB_ALIAS

    def allow_relation(self, first: Any, second: Any, **hints: Any) -> bool:
        """Return that rows of both may point at each other: they are the same rows."""
        return True

    def allow_migrate(self, db: str, app_label: str, **hints: Any) -> bool:
        """Return whether migrations run there; the replica gets its tables by itself."""
        return db == DEFAULT_DB_ALIAS
