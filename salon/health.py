"""Two answers for whoever watches the process: it runs; it can serve."""

import shutil
from collections.abc import Callable

from django.conf import settings
from django.core.checks import Tags, run_checks
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponseBase, JsonResponse

from salon.work import status

FREE_BYTES_NEEDED = 200 * 1024 * 1024


class HealthMiddleware:
    """Answer /healthz and /readyz before hosts, sessions and redirects are looked at."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if request.path == "/healthz":
            return JsonResponse({"status": "running"})
        if request.path == "/readyz":
            faults = readiness_faults()
            answer = {"status": "not ready" if faults else "ready", "faults": faults}
            # A worker that is gone is reported, and keeps nobody from being served.
            work = {} if faults else {"work": status.for_a_watcher()}
            return JsonResponse({**answer, **work}, status=503 if faults else 200)
        return self.get_response(request)


def readiness_faults() -> list[str]:
    """Return what keeps the process from serving; empty when nothing does."""
    faults = []
    try:
        connection.ensure_connection()
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            faults.append("migrations pending")
        else:
            found = run_checks(tags=[Tags.database], databases=[connection.alias])
            faults += [fault.msg for fault in found if fault.is_serious()]
    except DatabaseError:
        faults.append("database unreachable")
    settings.VAR_DIR.mkdir(parents=True, exist_ok=True)
    if shutil.disk_usage(settings.VAR_DIR).free < FREE_BYTES_NEEDED:
        faults.append("disk nearly full")
    return faults
