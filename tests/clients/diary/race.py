"""Many threads that want the same stylist and the same chair: a programme and a function.

As a programme it makes a database of its own (DATABASE_URL), so that SQLite is tested on a
real file with real locks and not on shared memory:

    DATABASE_URL=sqlite:////tmp/race.sqlite3 python -m tests.clients.diary.race
"""

import datetime as dt
import json
import threading
from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from clients.models import Appointment

START = dt.datetime(2026, 3, 11, 9, 0, tzinfo=dt.UTC)


def run(*, threads: int, rounds: int) -> dict[str, int]:
    """Let every thread book and move through the same day; return what stands afterwards."""
    from django.db import connection

    from clients import services
    from clients.models import Appointment, SlotClaim
    from salon.models import Role
    from tests.factories.clients import ChairFactory, ClientFactory, ToneFactory
    from tests.factories.salon import SalonFactory, StaffFactory

    salon = SalonFactory(opens_at=dt.time(0, 0), closes_at=dt.time(23, 55))
    by = StaffFactory(salon=salon, role=Role.RECEPTIONIST)
    stylists = StaffFactory.create_batch(2, salon=salon, has_column=True)
    chairs = ChairFactory.create_batch(2, salon=salon)
    service = ToneFactory(salon=salon, is_colour=False)
    clients = ClientFactory.create_batch(threads, salon=salon)
    counts: Counter[str] = Counter()
    gate = threading.Barrier(threads)

    def work(number: int) -> None:
        gate.wait()
        for turn in range(rounds):
            start = START + dt.timedelta(minutes=25 * turn)
            try:
                one = services.book_appointment(
                    client=clients[number],
                    service=service,
                    stylist=stylists[(number + turn) % 2],
                    chair=chairs[number % 2],
                    starts_at=start,
                    by=by,
                    at=START,
                )
                counts["booked"] += 1
                services.move_appointment(
                    appointment=one,
                    starts_at=start + dt.timedelta(minutes=10),
                    stylist=stylists[(number + turn + 1) % 2],
                    by=by,
                    at=START,
                )
                counts["moved"] += 1
            except services.BookingRefused:
                counts["refused"] += 1
            except Exception as error:
                counts[f"error {type(error).__name__}: {error}"[:120]] += 1
        connection.close()

    crew = [threading.Thread(target=work, args=(n,)) for n in range(threads)]
    for thread in crew:
        thread.start()
    for thread in crew:
        thread.join()
    return {
        **counts,
        "overlaps": _overlaps(list(Appointment.objects.select_related("service"))),
        "claims": SlotClaim.objects.count(),
        "claims_due": sum((30 + 25 + 75) // 5 for _one in Appointment.objects.all()),
    }


def _overlaps(appointments: "list[Appointment]") -> int:
    """Count overlaps from the appointments alone, without looking at a claim."""
    found = 0
    for place, one in enumerate(appointments):
        for other in appointments[place + 1 :]:
            if one.chair_id == other.chair_id and (
                one.starts_at < other.ends_at and other.starts_at < one.ends_at
            ):
                found += 1
            if one.stylist_id == other.stylist_id:
                found += sum(
                    a < d and c < b for a, b in one.busy_parts() for c, d in other.busy_parts()
                )
    return found


if __name__ == "__main__":
    import os
    import sys

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "salon.settings")
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)
    json.dump(run(threads=int(sys.argv[1]), rounds=int(sys.argv[2])), sys.stdout)
