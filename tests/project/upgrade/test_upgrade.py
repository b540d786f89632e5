"""A salon of an older release opens: `migrate` takes every former schema, filled, to today's.

One salon takes each release in turn and gets rows in every table after each; the steps are
applied to filled tables with their guards in place. `migrate` itself is asked at every step
whether it would begin. On PostgreSQL it also takes the whole way in one go from the first
release that anybody filled: most of a jump's time is Django's drawing of former models.
"""

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.apps.registry import Apps
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.db.migrations.state import ProjectState
from pytest_django import DjangoDbBlocker, Settings

from clients.diary import overlap_guard
from clients.sealed.fields import PREFIX, sealed_fields
from formulas.selectors import movements_of_another_salon
from salon import triggers
from tests.project.upgrade.databases import Databases, Table, as_default, content
from tests.project.upgrade.releases import (
    FIRST_DEMO,
    GUARDED,
    OWN_APPS,
    UNGUARDED,
    Node,
    SingleSteps,
    steps,
)
from tests.project.upgrade.rows import MOMENT, Filler
from tests.project.upgrade.schema import schema
from tests.typed import present

# Tables and columns ("table.column") that a migration meant to drop or to write anew.
MEANT = {
    "clients_appointment.processing_from",
    "clients_appointment.processing_until",
    "consult_cardmail.state",  # consult 0025: on its way without a letter is left to a person
    "consult_visit.status",  # the steps of an open visit are read from its records
    # Words about a client lie encrypted since clients 0024 and consult 0021.
    *(
        f"{model._meta.db_table}.{field.column}"
        for model in apps.get_models()
        for field in sealed_fields(model)
    ),
}


@pytest.fixture
def databases(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, tmp_path: Path
) -> Iterator[Databases]:
    with django_db_blocker.unblock():
        made = Databases(tmp_path)
        yield made
        made.drop_all()


@pytest.mark.slow
def test_every_former_schema_opens_with_its_rows(
    databases: Databases, settings: Settings, subtests: pytest.Subtests
) -> None:
    settings.APPEND_ONLY_TRIGGERS = True
    growing, filler, state = databases.make("growing"), Filler(), None
    with as_default(growing):
        releases = steps(_executor().loader.graph)
    first = _place(releases, FIRST_DEMO)
    kept: dict[int, str] = {}

    for number, release in enumerate(releases):
        with subtests.test("to the next release", release=release), as_default(growing):
            state = _take(release, state)
            filler.fill(state.apps)
            call_command("migrate", plan=True, skip_checks=False, verbosity=0)
            if UNGUARDED in release:
                _book_into_a_gap(state.apps)
        if number == first and connection.vendor == "postgresql":
            kept[number] = databases.make(f"after_{number}", like=growing)

    kept[len(releases) - 1] = growing
    for number, full in kept.items():
        with subtests.test("as it is today", since=releases[number]), as_default(full):
            before = content(OWN_APPS)
            call_command("migrate", skip_checks=False, verbosity=0)
            assert _lost(before, content(OWN_APPS)) == []
            _everything_is_guarded()
            _every_row_can_be_read()
            assert not movements_of_another_salon().exists()
            _words_lie_encrypted_and_open()
            if number >= _place(releases, UNGUARDED):
                _the_gap_is_as_it_was_booked()
            grown = schema(OWN_APPS)

    with subtests.test("a new one is alike"), as_default(databases.make("new")):
        call_command("migrate", skip_checks=False, verbosity=0)
        assert schema(OWN_APPS) == grown
        applied = MigrationRecorder(connection).applied_migrations()
        assert set(MigrationLoader(connection).disk_migrations) == set(applied)


def _executor() -> MigrationExecutor:
    """Return one that takes every step, not those in their place for a new database."""
    executor = MigrationExecutor(connection)
    executor.loader = SingleSteps(connection)
    return executor


def _place(releases: list[list[Node]], node: Node) -> int:
    return next(number for number, release in enumerate(releases) if node in release)


def _take(release: list[Node], state: ProjectState | None) -> ProjectState:
    """Migrate as that release did, guards and all; no row may go missing."""
    before = content(OWN_APPS)
    executor = _executor()
    state = executor.migrate(release, state=state)
    assert _lost(before, content(OWN_APPS)) == []
    triggers.install(connection)
    if GUARDED in executor.recorder.applied_migrations():
        overlap_guard.install(connection)
    return state


def _lost(before: dict[str, Table], after: dict[str, Table]) -> list[str]:
    """Return each table, row and value that is no longer there."""
    found = []
    for table, rows in before.items():
        if table not in after:
            found.append(table)
            continue
        for key, row in rows.items():
            now = after[table].get(key)
            found += (
                [f"{table} {key}"]
                if now is None
                else [
                    f"{table}.{column}"
                    for column, value in row.items()
                    if column not in now or now[column] != value
                ]
            )
    return sorted(set(found) - MEANT)


def _everything_is_guarded() -> None:
    """Change a row of each append-only table, and book one stylist twice: all refused."""
    assert triggers.missing(connection) == overlap_guard.missing(connection) == []
    tables = [model._meta for model in triggers.append_only_models()]
    filled = [meta for meta in tables if present(meta.concrete_model)._base_manager.exists()]
    for meta in filled:
        for change in (
            f'UPDATE "{meta.db_table}" SET "{meta.pk.column}" = 0',  # noqa: S608
            f'DELETE FROM "{meta.db_table}"',  # noqa: S608
        ):
            with (
                pytest.raises(IntegrityError, match="append-only"),
                transaction.atomic(),
                connection.cursor() as cursor,
            ):
                cursor.execute(change)
    if again := apps.get_model("clients", "Appointment").objects.order_by("pk").first():
        again.pk = None
        with pytest.raises(IntegrityError, match=r"double booking|appointment_\w+_single"):
            _book(again)


def _book(appointment: Any) -> None:
    """Insert it, and let PostgreSQL ask at once what it asks at the end."""
    with transaction.atomic():
        appointment.save(force_insert=True)
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


def _every_row_can_be_read() -> None:
    for model in apps.get_models():
        if model._meta.app_label in OWN_APPS:
            list(model._base_manager.all())


def _words_lie_encrypted_and_open() -> None:
    """Every word about a client is closed in the database, and reads as it was written."""
    for model in apps.get_models():
        for field in sealed_fields(model):
            with connection.cursor() as cursor:
                cursor.execute(f'SELECT "{field.column}" FROM "{model._meta.db_table}"')  # noqa: S608
                stored = [value for (value,) in cursor.fetchall()]
            assert all(not value or value.startswith(PREFIX) for value in stored), field.label
    texts = apps.get_model("clients", "ClientAlert")._base_manager.values_list(
        "text", flat=True
    )
    assert set(texts) == {"Latex"}
    names = apps.get_model("consult", "SignOff")._base_manager.values_list(
        "signed_name", flat=True
    )
    assert all(name.startswith("signed_name ") for name in names)


GAP_DAY = MOMENT + dt.timedelta(days=3000)


def _book_into_a_gap(former: Apps) -> None:
    """Book a tone, someone else while it processes, then take the gap off the service."""
    Appointment = former.get_model("clients", "Appointment")
    SlotClaim = former.get_model("clients", "SlotClaim")
    for after, minutes, busy in (
        (0, 75, [*range(0, 30, 5), *range(50, 75, 5)]),
        (30, 20, [*range(30, 50, 5)]),
    ):
        one = Appointment.objects.order_by("pk").first()
        one.pk, one.chair = None, None
        one.starts_at = GAP_DAY + dt.timedelta(minutes=after)
        one.ends_at = one.starts_at + dt.timedelta(minutes=minutes)
        one.save(force_insert=True)
        for minute in busy:
            SlotClaim.objects.create(
                appointment=one,
                stylist=one.stylist,
                slot_at=GAP_DAY + dt.timedelta(minutes=minute),
            )
    former.get_model("clients", "Service").objects.update(
        application_minutes=75, processing_minutes=0, finish_minutes=0
    )


def _the_gap_is_as_it_was_booked() -> None:
    """Both bookings stand as they were claimed, whatever the service says by now."""
    Appointment = apps.get_model("clients", "Appointment")
    rows = Appointment.objects.filter(starts_at__date=GAP_DAY.date()).order_by("starts_at")
    at = [GAP_DAY + dt.timedelta(minutes=minute) for minute in (0, 30, 50, 75)]
    assert [one.busy_parts() for one in rows] == [
        [(at[0], at[1]), (at[2], at[3])],
        [(at[1], at[2])],
    ]
