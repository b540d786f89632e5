"""Gunicorn's threaded worker, which waits for a first byte outside of its threads.

Its own waits some seconds in a thread: a few dozen connections that say nothing then keep
everybody waiting, the watcher that asks whether the service lives among them. What comes half
and stops is left to the proxy in front, which passes whole requests on.
"""

import selectors
import time
from functools import partial
from typing import Any

from gunicorn.workers.gthread import ThreadWorker

SILENT_SECONDS = 10  # then a connection without a word is closed


class PatientWorker(ThreadWorker):  # type: ignore[misc]
    """Gives a connection a thread once something came on it."""

    def enqueue_req(self, conn: Any) -> None:
        if conn.initialized or conn.data_ready:
            super().enqueue_req(conn)
            return
        conn.sock.setblocking(False)
        conn.timeout = time.monotonic() + SILENT_SECONDS
        self.pending_conns.append(conn)
        heard = partial(self.on_pending_socket_readable, conn)
        self.poller.register(conn.sock, selectors.EVENT_READ, heard)
