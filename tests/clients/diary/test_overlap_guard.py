"""The table of appointments refuses an overlap by itself, whoever writes to it."""

import datetime as dt
import itertools
import re
import threading
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.db.utils import OperationalError

from clients import services
from clients.diary import overlap_guard
from clients.models import Appointment, Chair, SlotClaim, Status
from salon.models import Salon, Staff
from tests.clients.conftest import at_clock
from tests.factories.clients import AppointmentFactory, ChairFactory, ClientFactory, ToneFactory
from tests.factories.salon import StaffFactory

# A tone takes 30 minutes of hands, develops for 20, and takes 25 again: 11:00 to 12:15.
START = at_clock(11)


@pytest.fixture
def standing(salon: Salon, stylist: Staff) -> Appointment:
    service = ToneFactory(salon=salon)
    one = AppointmentFactory(
        client=ClientFactory(salon=salon), stylist=stylist, service=service, starts_at=START,
        chair=ChairFactory(salon=salon),
    )  # fmt: skip
    assert not SlotClaim.objects.exists()  # the claims are out of the way
    return one


def _insert(like: Appointment, **changes: Any) -> None:
    """Copy a row by plain SQL, with some columns changed; settle what is checked late."""
    columns = [f.column for f in Appointment._meta.concrete_fields if not f.primary_key]
    given = [column for column in columns if column in changes]
    kept = [column for column in columns if column not in changes]
    what = ", ".join([*kept, *["%s"] * len(given)])
    values = [
        connection.ops.adapt_datetimefield_value(v) if isinstance(v, dt.datetime) else v
        for v in (changes[column] for column in given)
    ]
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO clients_appointment ({', '.join([*kept, *given])})"  # noqa: S608
            f" SELECT {what} FROM clients_appointment WHERE id = %s",
            [*values, like.pk],
        )
    _settle()


def _update_others(than: Appointment, **changes: Any) -> None:
    Appointment.objects.exclude(pk=than.pk).update(**changes)
    _settle()


def _settle() -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            cursor.execute("SET CONSTRAINTS ALL DEFERRED")


def _at(minutes: int, length: int) -> dict[str, object]:
    start = START + dt.timedelta(minutes=minutes)
    return {
        "starts_at": start,
        "ends_at": start + dt.timedelta(minutes=length),
        "processing_from": None,
        "processing_until": None,
    }


@pytest.mark.parametrize(
    ("minutes", "length"), [(0, 75), (-10, 15), (25, 5), (45, 10), (70, 30), (-30, 200)]
)
def test_plain_sql_cannot_book_a_stylists_hands_twice(
    standing: Appointment, minutes: int, length: int
) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        _insert(standing, chair_id=None, **_at(minutes, length))

    assert Appointment.objects.count() == 1


@pytest.mark.parametrize(("minutes", "length"), [(30, 20), (-30, 30), (75, 30), (35, 10)])
def test_a_gap_while_it_develops_and_the_time_beside_it_stay_free(
    standing: Appointment, minutes: int, length: int
) -> None:
    _insert(standing, chair_id=None, **_at(minutes, length))

    assert Appointment.objects.count() == 2


def test_two_gaps_that_cross_are_told_apart(standing: Appointment) -> None:
    start = START + dt.timedelta(minutes=30)  # busy 30-50 and 75-85: inside gap, and after

    _insert(
        standing, chair_id=None, starts_at=start, ends_at=start + dt.timedelta(minutes=55),
        processing_from=start + dt.timedelta(minutes=20),
        processing_until=start + dt.timedelta(minutes=45),
    )  # fmt: skip

    with pytest.raises(IntegrityError), transaction.atomic():
        _insert(standing, chair_id=None, **_at(80, 10))


def test_plain_sql_cannot_seat_two_on_one_chair(
    standing: Appointment, second_stylist: Staff
) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        _insert(standing, stylist_id=second_stylist.pk, **_at(35, 10))


@pytest.mark.parametrize("status", [Status.CANCELLED, Status.NO_SHOW])
def test_what_was_cancelled_takes_no_time_until_it_stands_again(
    standing: Appointment, status: Status
) -> None:
    _insert(standing, status=status)

    with pytest.raises(IntegrityError), transaction.atomic():
        _update_others(standing, status=Status.BOOKED)


def test_an_update_cannot_push_one_booking_into_another(standing: Appointment) -> None:
    _insert(standing, **_at(120, 30))

    with pytest.raises(IntegrityError), transaction.atomic():
        _update_others(standing, starts_at=START)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="of PostgreSQL it is an index")
def test_a_change_of_anything_that_takes_time_is_checked(
    standing: Appointment, second_stylist: Staff
) -> None:
    other_chair = ChairFactory(salon=standing.salon).pk
    _insert(standing, stylist_id=second_stylist.pk, chair_id=other_chair)
    with pytest.raises(IntegrityError), transaction.atomic():
        _update_others(standing, stylist=standing.stylist)
    with pytest.raises(IntegrityError), transaction.atomic():
        _update_others(standing, chair=standing.chair)

    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT sql FROM sqlite_master WHERE name = %s", [overlap_guard.TRIGGERS[1]]
        )
        (words,) = cursor.fetchone()
    asked = words.split(" OF ")[1].split(" ON ")[0].split(", ")
    names = set(re.findall(r"(?:NEW|o)[.](\w+)", words)) - {"id"}
    assert set(asked) == names, "a change of any column that it reads"


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL checks at the end")
def test_the_service_still_says_in_words_who_is_busy(
    standing: Appointment, receptionist: Staff, now: dt.datetime
) -> None:
    with pytest.raises(services.BookingRefused, match="is busy at 11:00"):
        services.book_appointment(
            client=standing.client, service=ToneFactory(salon=standing.salon, is_colour=False),
            stylist=standing.stylist, starts_at=START, by=receptionist, at=now,
        )  # fmt: skip


def test_a_changed_service_leaves_what_is_booked_as_it_was(standing: Appointment) -> None:
    before, tone = standing.busy_parts(), standing.service

    tone.application_minutes, tone.processing_minutes = 60, 0
    tone.save()

    again = Appointment.objects.get(pk=standing.pk)
    assert again.busy_parts() == before
    assert len(before) == 2


def _drop_a_guard() -> str:
    _settle()
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(f"DROP TRIGGER {overlap_guard.TRIGGERS[0]}")
            return overlap_guard.TRIGGERS[0]
        cursor.execute(
            f"ALTER TABLE clients_appointment DROP CONSTRAINT {overlap_guard.CONSTRAINTS[0]}"
        )
        return overlap_guard.CONSTRAINTS[0]


def test_a_missing_guard_is_reported_and_back_after_migrating(db: None) -> None:
    assert overlap_guard.missing(connection) == []
    name = _drop_a_guard()

    with pytest.raises((CommandError, SystemExit), match=name):
        call_command("check", databases=["default"])
    call_command("migrate", skip_checks=False, verbosity=0)

    assert overlap_guard.missing(connection) == []


@pytest.mark.skipif(connection.vendor != "sqlite", reason="a constraint cannot be emptied")
def test_a_guard_in_other_words_is_reported(db: None) -> None:
    name = _drop_a_guard()
    with connection.cursor() as cursor:
        cursor.execute(
            f"CREATE TRIGGER {name} AFTER INSERT ON clients_appointment BEGIN SELECT 1; END"
        )

    assert overlap_guard.missing(connection) == [name]


def test_a_guard_is_due_from_its_migration_on(db: None) -> None:
    _drop_a_guard()
    MigrationRecorder(connection).record_unapplied("clients", "0011_no_overlap")

    assert overlap_guard.missing(connection) == []


@pytest.mark.postgres
@pytest.mark.skipif(connection.vendor != "postgresql", reason="triggers look at no old rows")
def test_a_guard_that_bookings_break_stays_missing_and_is_named(standing: Appointment) -> None:
    name = _drop_a_guard()
    _insert(standing, stylist_id=StaffFactory(salon=standing.salon).pk)

    with pytest.raises(CommandError, match=f"{name} is missing.*\n.*overlap"):
        call_command("migrate", skip_checks=False, verbosity=0)


@pytest.mark.slow
@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(connection.vendor != "postgresql", reason="needs PostgreSQL")
def test_threads_without_claims_never_overlap_on_postgresql(stylist: Staff) -> None:
    client = ClientFactory(salon=stylist.salon)
    chair = ChairFactory(salon=stylist.salon)
    service = ToneFactory(salon=stylist.salon)
    gate = threading.Barrier(16)
    outcomes: list[str] = []

    def work(number: int, chair: Chair = chair) -> None:
        gate.wait()
        for turn in range(6):
            start = START + dt.timedelta(minutes=25 * turn + 5 * (number % 3))
            try:
                AppointmentFactory(
                    client=client, stylist=stylist, service=service, chair=chair,
                    starts_at=start,
                )  # fmt: skip
                outcomes.append("booked")
            except (IntegrityError, OperationalError) as error:
                outcomes.append(type(error).__name__)
        connection.close()

    crew = [threading.Thread(target=work, args=(n,)) for n in range(16)]
    for thread in crew:
        thread.start()
    for thread in crew:
        thread.join()

    rows = sorted(Appointment.objects.values_list("starts_at", "ends_at"))
    assert len(outcomes) == 16 * 6
    assert 0 < len(rows) == outcomes.count("booked")
    assert all(a[1] <= b[0] for a, b in itertools.pairwise(rows))


@pytest.mark.django_db
def test_the_guard_searches_a_day_and_nothing_before_or_after() -> None:
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL's exclusion constraints have an index of their own")
    asked = overlap_guard.NEARBY
    for name in ("id", "salon_id", "starts_at", "ends_at"):
        asked = asked.replace(f"NEW.{name}", "'2026-03-02 09:00:00'")
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {asked} AND +o.chair_id = 1")
        plan = " ".join(row[-1] for row in cursor.fetchall())
    assert (
        "SEARCH o USING INDEX appointment_by_day (salon_id=? AND starts_at>? AND starts_at<?)"
        in plan
    )
