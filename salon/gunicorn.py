"""How the web service runs: two processes of four threads, each renewed now and then."""

import ctypes
import gc
import os
import subprocess
import sys
import threading
from importlib import import_module
from pathlib import Path
from typing import Any

# One thread of linear algebra for each request: its own threads only get in each other's way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# One heap for all threads: each would keep for itself what a search took. Where the C library
# is another than glibc, nothing is set.
_M_ARENA_MAX = -8
if hasattr(ctypes.CDLL(None), "mallopt"):
    ctypes.CDLL(None).mallopt(_M_ARENA_MAX, 1)

bind = os.environ.get("BIND", "0.0.0.0:8000")
worker_class = "salon.worker.PatientWorker"
workers = int(os.environ.get("WEB_WORKERS", "2"))
threads = int(os.environ.get("WEB_THREADS", "4"))
max_requests = 2000
max_requests_jitter = 200
timeout = 60
graceful_timeout = 30
# A heartbeat file on a slow disk would kill healthy workers.
worker_tmp_dir = "/dev/shm"  # noqa: S108
accesslog = None
control_socket_disable = True

# A demo needs no second process to be started by hand; in production the worker has its own.
_IS_LOCAL = os.environ.get("SALON_MODE") == "local"
_WITH_WORKER = os.environ.get("WITH_WORKER", str(_IS_LOCAL)).lower() in {
    "true",
    "1",
    "yes",
    "on",
}
_beside: list[subprocess.Popen[bytes]] = []


def when_ready(server: Any) -> None:
    """Start the worker beside the web service; it ends with it, also where that is killed."""
    if _WITH_WORKER and server.app.app_uri == "salon.wsgi":
        manage = str(Path(__file__).resolve().parent.parent / "manage.py")
        command = [sys.executable, manage, "worker", "--parent", str(os.getpid())]
        _beside.append(subprocess.Popen(command))  # noqa: S603 - this product's own command


def on_exit(server: Any) -> None:
    """Let the worker end what it has in hand."""
    for process in _beside:
        process.terminate()
        process.wait()


# What a first suggestion needs: imported after the start, so that neither waits for it.
_LATER = ("scipy.optimize", "scipy.spatial", "scipy.ndimage")


def post_worker_init(worker: Any) -> None:
    """Import what is heavy beside the first requests; look for no garbage among the code."""
    gc.freeze()
    threading.Thread(
        target=lambda: [import_module(name) for name in _LATER], daemon=True
    ).start()
