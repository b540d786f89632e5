"""What two people write of one client at once: both are in the figures (PostgreSQL)."""

import datetime as dt
import threading
from collections.abc import Callable

import pytest
from django.db import connection, transaction

from clients.models import PatchOverride
from consult.history import kept_figures
from consult.models import Status, Visit, VisitFigures
from salon.models import Salon, Staff
from tests.factories.consult import opened
from tests.factories.history import Past

pytestmark = [
    pytest.mark.postgres,
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(
        connection.vendor != "postgresql", reason="SQLite has one writer at a time"
    ),
]


def test_a_visit_that_closes_beside_an_override_is_marked(
    salon: Salon, stylist: Staff, owner: Staff, now: dt.datetime
) -> None:
    visit = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=2)).to_end()
    VisitFigures.objects.all().delete()
    closing, written, closed = (threading.Event() for _ in range(3))

    def allow() -> None:
        closing.wait()
        with transaction.atomic():
            PatchOverride.objects.create(
                appointment=visit.appointment, reason="in writing", recorded_at=now,
                recorded_by=owner,
            )  # fmt: skip
            written.set()
            closed.wait()
        connection.close()

    other = threading.Thread(target=allow, daemon=True)
    other.start()
    with transaction.atomic():
        Visit.objects.filter(pk=visit.pk).update(version=visit.version + 1)
        closing.set()
        while other.is_alive() and not (written.is_set() or _is_waited_for()):
            pass
        kept_figures.keep([visit.pk], salon=salon)
    closed.set()
    other.join()

    assert VisitFigures.objects.get(visit=visit).is_overridden


def _is_waited_for() -> bool:
    """Whether another connection waits for a row of this one."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT 1 FROM pg_locks WHERE NOT granted"
            " AND pg_backend_pid() = ANY(pg_blocking_pids(pid))"
        )
        return cursor.fetchone() is not None


def _beside(act: Callable[[], None]) -> threading.Thread:
    """Do it in a thread with a connection of its own."""

    def run() -> None:
        try:
            act()
        finally:
            connection.close()

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    return thread


def test_of_two_visits_that_close_at_once_the_earlier_is_followed(
    salon: Salon, owner: Staff, now: dt.datetime
) -> None:
    past = Past(salon, owner, now)
    line, client = past.line("Tidepool"), past.client("Ola")
    first, second = (past.visit(client, line, owner, days_ago=days) for days in (60, 20))
    Visit.objects.filter(pk__in=[first.pk, second.pk]).update(
        status=Status.OPEN, closed_at=None
    )

    def close(visit: Visit) -> None:
        with transaction.atomic():
            Visit.objects.filter(pk=visit.pk).update(
                status=Status.CLOSED, closed_at=visit.closed_at
            )
            kept_figures.keep([visit.pk], salon=salon)

    with transaction.atomic():
        close(first)
        other = _beside(lambda: close(second))
        while other.is_alive() and not _is_waited_for():
            pass
    other.join()

    followed = VisitFigures.objects.order_by("opened_at").values_list("is_followed", flat=True)
    assert list(followed) == [True, False]
