import datetime as dt

import pytest
from django.db import IntegrityError, connection, transaction

from salon import audit, triggers
from salon.append_only import AppendOnlyError
from salon.models import AuditEvent, Staff


@pytest.fixture
def event(owner: Staff, now: dt.datetime) -> AuditEvent:
    return audit.record_event("seen", target=owner, by=owner, at=now)


def test_queryset_refuses_update_and_delete(event: AuditEvent) -> None:
    for change in (
        lambda: AuditEvent.objects.update(kind="x"),
        lambda: AuditEvent.objects.all().delete(),
        lambda: AuditEvent.objects.bulk_update([event], ["kind"]),
        event.delete,
        event.save,
    ):
        with pytest.raises(AppendOnlyError):
            change()

    assert AuditEvent.objects.get().kind == "seen"


@pytest.mark.usefixtures("append_only_triggers")
@pytest.mark.parametrize("statement", ["UPDATE {0} SET kind = 'x'", "DELETE FROM {0}"])
def test_database_refuses_change_behind_the_models(event: AuditEvent, statement: str) -> None:
    table = AuditEvent._meta.db_table

    with (
        pytest.raises(IntegrityError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement.format(table))

    assert AuditEvent.objects.get().kind == "seen"


@pytest.mark.usefixtures("append_only_triggers")
def test_check_names_a_dropped_trigger() -> None:
    assert triggers.missing(connection) == []
    name = triggers.names(AuditEvent)["UPDATE"]
    on = f' ON "{AuditEvent._meta.db_table}"' if connection.vendor == "postgresql" else ""

    with connection.cursor() as cursor:
        cursor.execute(f'DROP TRIGGER "{name}"{on}')

    assert triggers.missing(connection) == [name]
