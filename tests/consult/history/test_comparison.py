"""A line is compared with its results by the worker: seen, one at a time, never half."""

import datetime as dt
import json
from dataclasses import replace

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult
from pytest_django import Settings

from consult import tasks
from consult.history import line_results
from consult.history.comparison import comparison_of
from formulas import kept_proposal
from formulas.models import ProductLine, StrengthRevision
from formulas.strength_proposal import propose
from salon.models import Role, RunState, Salon, Staff, WorkRun
from tests.factories.formulas import LineFactory
from tests.factories.history import Past
from tests.factories.salon import StaffFactory
from tests.typed import SignIn, present
from tests.workers import QUEUE, Workers, is_done


def _past(salon: Salon, owner: Staff, now: dt.datetime, visits: int) -> ProductLine:
    """Return a line with results of some clients."""
    past = Past(salon, owner, now)
    stylist = StaffFactory(salon=salon, role=Role.STYLIST, has_column=True)
    line = past.line("Tidepool")
    for n in range(visits):
        past.visit(past.client(f"Guest {n}"), line, stylist, days_ago=n + 1)
    return line


@pytest.fixture
def line(salon: Salon, owner: Staff, now: dt.datetime) -> ProductLine:
    return _past(salon, owner, now, 3)


@pytest.fixture
def boss(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


@pytest.fixture
def queued(settings: Settings) -> None:
    settings.TASKS = QUEUE


def _page(line: ProductLine) -> str:
    return reverse("consult:learning", args=[line.pk])


def test_it_is_begun_and_seen_and_computed_outside_of_the_request(
    line: ProductLine, boss: Browser, queued: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "Compare now" in boss.get(_page(line)).text

    boss.post(_page(line), {"compare": "1"})

    page = boss.get(_page(line)).text
    assert "0 of 3 visits read" in page
    assert 'hx-trigger="every 2s"' in page
    assert "the background worker is not running" in page
    assert "Compare now" not in page
    monkeypatch.setattr(line_results, "PIECE", 2)
    seen, records = [], line_results._records

    def looked_at(pks: object) -> object:
        seen.append(boss.get(_page(line)).text)
        return records(pks)  # type: ignore[arg-type]

    monkeypatch.setattr(line_results, "_records", looked_at)
    tasks.compare_line.call(WorkRun.objects.get().pk)
    assert "2 of 3 visits read" in seen[1]
    DBTaskResult.objects.update(status=TaskResultStatus.SUCCESSFUL)
    page = boss.get(_page(line)).text
    assert "Compared on" in page
    assert "every 2s" not in page
    assert "How far predictions were off" in page


def test_pressed_twice_it_is_one_and_another_line_waits(
    line: ProductLine, boss: Browser, salon: Salon, queued: None
) -> None:
    other = LineFactory(salon=salon, name="Harbour")

    for _click in range(2):
        boss.post(_page(line), {"compare": "1"})
    refused = boss.post(_page(other), {"compare": "1"})

    assert WorkRun.objects.count() == DBTaskResult.objects.count() == 1
    assert refused.status_code == 409
    assert "Another line is being compared. Try again once that is done." in refused.text
    assert "This line can follow as soon as that is done." in boss.get(_page(other)).text


def test_what_is_kept_is_the_proposal_without_a_word_about_a_client(
    line: ProductLine, boss: Browser
) -> None:
    boss.post(_page(line), {"compare": "1"})

    whole = propose(line=line, results=line_results.results_of(line))
    learned = present(whole.learned)
    outcome = WorkRun.objects.get().outcome
    assert kept_proposal.read(outcome["proposal"]) == replace(
        whole, learned=replace(learned, takes={})
    )
    assert comparison_of(line).proposal == kept_proposal.read(json.loads(json.dumps(
        kept_proposal.kept(whole)
    )))  # fmt: skip
    assert outcome["proposal"]["learned"]["takes"] == {}
    assert kept_proposal.read(kept_proposal.kept(replace(whole, learned=None))).learned is None


def test_a_result_since_makes_it_outdated_and_it_is_not_accepted(
    line: ProductLine, boss: Browser, salon: Salon, owner: Staff, now: dt.datetime
) -> None:
    boss.post(_page(line), {"compare": "1"})
    key = present(comparison_of(line).proposal).key
    assert not comparison_of(line).is_outdated
    past = Past(salon, owner, now)
    stylist = Staff.objects.filter(role=Role.STYLIST)[0]
    past.visit(past.client("Late"), line, stylist, days_ago=0)

    assert "Since then results have come in" in boss.get(_page(line)).text
    answer = boss.post(_page(line), {"key": key})

    assert answer.status_code == 409
    assert "Compare again, then decide." in answer.text
    assert not StrengthRevision.objects.exists()
    boss.post(_page(line), {"compare": "1"})
    assert "Since then" not in boss.get(_page(line)).text


def test_before_it_is_compared_there_is_no_file(line: ProductLine, boss: Browser) -> None:
    for name in ("learning_csv", "learning_pdf"):
        answer = boss.post(reverse(f"consult:{name}", args=[line.pk]), follow=True)
        assert "Compare the line with your results first." in answer.text


def test_a_fault_is_shown_and_the_last_comparison_stays(
    line: ProductLine, boss: Browser, queued: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = tasks.begin_comparison(
        line=line, by=Staff.objects.get(role=Role.OWNER), at=timezone.now()
    )
    tasks.compare_line.call(first.pk)
    boss.post(_page(line), {"compare": "1"})

    def broken(**_inputs: object) -> None:
        raise OSError("no room")

    monkeypatch.setattr(tasks, "propose", broken)
    with pytest.raises(OSError, match="no room"):
        tasks.compare_line.call(WorkRun.objects.get(state=RunState.OPEN).pk)

    page = boss.get(_page(line)).text
    assert "ended by a fault" in page
    assert "Compared on" in page
    tasks.compare_line.call(first.pk)  # a task done a second time changes nothing
    assert WorkRun.objects.filter(state=RunState.DONE).count() == 1


def test_only_an_owner_begins_one(line: ProductLine, stylist: Staff) -> None:
    with pytest.raises(PermissionDenied):
        tasks.begin_comparison(line=line, by=stylist, at=timezone.now())
    with pytest.raises(PermissionDenied):
        tasks.begin_comparison(line=line, by=StaffFactory(role=Role.OWNER), at=timezone.now())


@pytest.mark.slow
def test_killed_while_it_compares_it_is_done_by_the_next(
    workers: Workers, now: dt.datetime
) -> None:
    owner = StaffFactory(role=Role.OWNER)
    line = _past(owner.salon, owner, now, 60)
    run = tasks.begin_comparison(line=line, by=owner, at=timezone.now())

    def has_begun() -> bool:
        run.refresh_from_db()
        return run.rows_done > 0

    worker = workers.worker()
    workers.kill_where(has_begun, worker)
    connection.close()
    assert WorkRun.objects.get().state == RunState.OPEN
    last = workers.worker()
    workers.until(is_done, last)
    workers.stop(last)

    run.refresh_from_db()
    assert run.state == RunState.DONE
    expected = propose(line=line, results=line_results.results_of(line))
    assert kept_proposal.read(run.outcome["proposal"]).key == expected.key
