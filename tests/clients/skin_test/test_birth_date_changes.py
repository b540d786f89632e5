"""Who may change a birth date over the age line, and what is kept of it."""

import datetime as dt

import pytest

from clients import selectors, services
from clients.models import (
    BirthDateChange,
    Client,
)
from salon.models import AuditEvent, Salon, Staff
from tests.factories.clients import (
    ClientFactory,
)

pytestmark = pytest.mark.usefixtures("clock")


def _change(
    client: Client, by: Staff, now: dt.datetime, born: dt.date | None, reason: str = ""
) -> Client:
    client.refresh_from_db()
    return services.change_client(
        client=client,
        expected_version=client.version,
        birth_date=born,
        note=client.note,
        birth_reason=reason,
        by=by,
        at=now,
    )


def test_a_birth_date_over_the_age_line_needs_the_owner_and_a_reason(
    salon: Salon, receptionist: Staff, owner: Staff, now: dt.datetime
) -> None:
    child = ClientFactory(salon=salon, birth_date=dt.date(2012, 5, 5))
    for born in (dt.date(1999, 5, 5), None):
        with pytest.raises(services.BirthDateStays, match="Only the owner"):
            _change(child, receptionist, now, born, "typed wrongly")
    with pytest.raises(services.BirthDateStays, match="Say why"):
        _change(child, owner, now, dt.date(1999, 5, 5))

    _change(child, owner, now, dt.date(1999, 5, 5), "passport seen")

    kept = BirthDateChange.objects.get()
    assert (kept.age_before, kept.is_year_changed, kept.reason) == (13, True, "passport seen")
    event = AuditEvent.objects.get(kind="client changed")
    assert event.detail == {"fields": ["birth_date"], "age_before": 13, "year_changed": True}
    whats = [entry.what for entry in selectors.client_timeline(client=child)]
    assert "birth date changed, including the year" in whats


def test_an_adults_birth_date_is_corrected_freely(
    person: Client, receptionist: Staff, now: dt.datetime
) -> None:
    changed = _change(person, receptionist, now, dt.date(1985, 6, 2))
    assert changed.birth_date == dt.date(1985, 6, 2)
