"""A run of the rules costs as much for each person, however many there are and were."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pytest_django import DjangoCaptureOnCommitCallbacks

from clients import services as desk
from clients.models import Client, ErasureReason
from clients.privacy import erasure_list
from clients.selectors import privacy as selectors
from clients.services import privacy, retention
from salon.models import Staff
from salon.work import runs
from tests.factories.clients import ClientFactory
from tests.typed import SignIn

LONG_AGO = dt.timedelta(days=9 * 366)


def _gone(owner: Staff, now: dt.datetime, count: int) -> list[Client]:
    return [
        ClientFactory(salon=owner.salon, name=f"Gone {n:03}", registered_at=now - LONG_AGO)
        for n in range(count)
    ]


def test_an_erasure_reads_nothing_of_those_erased_before(
    owner: Staff, now: dt.datetime,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:  # fmt: skip
    def erased(client: Client) -> int:
        with (
            CaptureQueriesContext(
                connection,
            ) as queries,
            django_capture_on_commit_callbacks(execute=True),
        ):
            privacy.erase(client=client, reason=ErasureReason.RETENTION, at=now)
        return len(queries)

    people = _gone(owner, now, 8)
    first, *between, last = (erased(client) for client in people)

    assert last == first
    assert len(between) == 6
    assert [line.client for line in erasure_list.lines()] == [one.pk for one in people]
    assert erasure_list.complete() == 0, "each was added as it was erased"


def test_an_erased_person_is_on_the_list_with_every_entry(
    owner: Staff, now: dt.datetime,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:  # fmt: skip
    kept, merged, other = _gone(owner, now, 3)
    desk.merge_clients(kept=kept, merged=merged, by=owner, at=now, is_same_body=True)
    kept.refresh_from_db()
    for client in (other, kept):
        with django_capture_on_commit_callbacks(execute=True):
            privacy.erase(client=client, reason=ErasureReason.IN_PERSON, at=now)

    added = erasure_list.lines()

    assert {line.client for line in added} == {kept.pk, merged.pk, other.pk}
    erasure_list.path().unlink()
    assert erasure_list.complete() == 3, "from the database alone"
    assert {line.key: line for line in erasure_list.lines()} == {
        line.key: line for line in added
    }


def test_each_piece_begins_where_the_one_before_ended(
    owner: Staff, now: dt.datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(retention, "PIECE", 2)
    people = _gone(owner, now, 5)
    begun: list[int] = []
    past_people = selectors.past_people

    def noted(*, beyond: int, **which: object) -> list[Client]:
        begun.append(beyond)
        return past_people(beyond=beyond, **which)  # type: ignore[arg-type]

    monkeypatch.setattr(selectors, "past_people", noted)

    done = desk.run_retention(salon=owner.salon, at=now)

    assert begun == [0, people[1].pk, people[3].pk, people[4].pk]
    assert done.counts["people"] == 5
    assert retention.REACHED not in done.counts
    run = runs.latest(kind=desk.RETENTION, salon=owner.salon)
    assert run is not None
    assert retention.REACHED not in run.outcome


def test_the_page_names_some_and_counts_the_rest(
    owner: Staff, now: dt.datetime, client_for: SignIn
) -> None:
    people = _gone(owner, now, selectors.NAMED + 2)
    page = client_for(owner).get("/salon/retention/").text
    assert f"Gone {selectors.NAMED - 1:03}" in page
    assert f"Gone {selectors.NAMED:03}" not in page
    assert selectors.overdue(salon=owner.salon, at=now).counts()["people"] == len(people)

    until = now.date()
    for client in people:
        until += dt.timedelta(days=30)
        privacy.erase(client=client, reason=ErasureReason.IN_PERSON, at=now, until=until)
    named, more = selectors.kept_erasures(salon=owner.salon)

    assert [row.client_id for row in named] == [one.pk for one in people[: selectors.NAMED]]
    assert more == 2
    assert "and 2 more" in client_for(owner).get("/salon/retention/").text
