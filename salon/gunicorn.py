"""How the web service runs: two processes of four threads, each renewed now and then."""

import os
import threading
from importlib import import_module
from typing import Any

# One thread of linear algebra for each request: its own threads only get in each other's way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

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


# What a first suggestion needs: imported after the start, so that neither waits for it.
_LATER = ("scipy.optimize", "scipy.spatial", "scipy.ndimage")


def post_worker_init(worker: Any) -> None:
    """Import what is heavy beside the first requests."""
    threading.Thread(
        target=lambda: [import_module(name) for name in _LATER], daemon=True
    ).start()
