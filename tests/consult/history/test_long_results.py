"""Long tables of results and long lists of visits are made by the worker, as at once."""

import datetime as dt
import io
from dataclasses import replace
from pathlib import Path

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult
from pypdf import PdfReader
from pytest_django import Settings

from clients.models import Client
from clients.services import privacy
from consult import results_files
from consult.history import behind_figures
from consult.models import Visit
from salon.files import kinds, making, progress, services
from salon.models import AuditEvent, FileState, PreparedFile, Role, Salon, Staff
from tests.factories.history import Past
from tests.factories.salon import StaffFactory
from tests.typed import SignIn
from tests.workers import QUEUE

FILES = "/salon/files/"
GUESTS = ["Ola", "Bea", "Cem", "Dov", "Eva"]


@pytest.fixture(autouse=True)
def own_folder(settings: Settings, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def visits(salon: Salon, owner: Staff, now: dt.datetime) -> list[Visit]:
    """Five clients of two stylists, the latest first."""
    past = Past(salon, owner, now)
    team = [
        StaffFactory(salon=salon, role=Role.STYLIST, display_name=name, has_column=True)
        for name in ("Tomasz", "Oluchi")
    ]
    line = past.line("Tidepool")
    return [
        past.visit(past.client(name), line, team[n % 2], days_ago=n + 1)
        for n, name in enumerate(GUESTS)
    ]


@pytest.fixture
def laptop(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


def _only_by_the_worker(monkeypatch: pytest.MonkeyPatch, name: str, most: int = 0) -> None:
    monkeypatch.setitem(kinds._kinds, name, replace(kinds.of(name), most_at_once=most))


def _made(laptop: Browser, page: str, **asked: str) -> PreparedFile:
    answer = laptop.post(reverse(page), asked)
    assert (answer.status_code, answer.headers["Location"]) == (302, FILES)
    return PreparedFile.objects.latest("pk")


def _content(laptop: Browser, file: PreparedFile) -> bytes:
    content: bytes = laptop.post(f"{FILES}{file.pk}/").getvalue()
    return content


@pytest.mark.parametrize("table", results_files.TABLES)
def test_a_long_table_says_what_a_short_one_says(
    visits: list[Visit], laptop: Browser, monkeypatch: pytest.MonkeyPatch, table: str
) -> None:
    asked = {"table": table, "stylist": str(visits[0].stylist_id)}
    at_once = laptop.post(reverse("consult:results_csv"), asked)
    assert at_once.status_code == 200
    _only_by_the_worker(monkeypatch, "results_csv", most=-1)

    file = _made(laptop, "consult:results_csv", **asked)

    assert file.state == FileState.DONE
    answer = laptop.post(f"{FILES}{file.pk}/")
    assert answer.getvalue() == at_once.content
    assert at_once.headers["Content-Disposition"] == answer.headers["Content-Disposition"]
    assert AuditEvent.objects.filter(kind="results exported").count() == 2
    assert AuditEvent.objects.filter(kind="file fetched").count() == 1


def test_it_comes_at_once_up_to_the_rule_and_no_further(
    visits: list[Visit], laptop: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert kinds.of("results_csv").most_at_once == kinds.MOST_AT_ONCE == 1_000
    page, asked = reverse("consult:results_csv"), {"table": "visits"}
    _only_by_the_worker(monkeypatch, "results_csv", most=len(visits))
    assert laptop.post(page, asked).status_code == 200

    _only_by_the_worker(monkeypatch, "results_csv", most=len(visits) - 1)

    assert laptop.post(page, asked).status_code == 302
    assert laptop.post(page, {**asked, "kind": "redone"}).status_code == 200  # none of them


@pytest.mark.parametrize("page", ["results_pdf", "visit_list_pdf"])
def test_a_long_list_on_paper_is_made_too_and_says_where_it_ends(
    visits: list[Visit], laptop: Browser, monkeypatch: pytest.MonkeyPatch, page: str
) -> None:
    monkeypatch.setattr(results_files, "MOST_ON_PAPER", 3)
    _only_by_the_worker(monkeypatch, "results_pdf")
    _only_by_the_worker(monkeypatch, "visits_pdf")

    file = _made(laptop, f"consult:{page}")

    pages = PdfReader(io.BytesIO(_content(laptop, file))).pages
    words = " ".join(" ".join(sheet.extract_text() for sheet in pages).split())
    assert file.rows_done == 3
    assert sum(name in words for name in GUESTS) == 3
    assert "The CSV file has all of them." in words


def test_cancelled_while_it_is_made_nothing_is_kept_and_visits_are_read_in_pieces(
    visits: list[Visit], laptop: Browser, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.TASKS = QUEUE
    monkeypatch.setattr(progress, "EVERY", 0)
    monkeypatch.setattr(behind_figures, "PIECE", 2)
    _only_by_the_worker(monkeypatch, "results_csv")
    file = _made(laptop, "consult:results_csv", table="visits")
    read, pieces = behind_figures.rows_of, []

    def looked_at(*args: object) -> object:
        pieces.append(laptop.get(FILES).text)
        if len(pieces) == 2:
            laptop.post(f"{FILES}{file.pk}/cancel/")
        return read(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(behind_figures, "rows_of", looked_at)
    making.make_file.call(file.pk)

    file.refresh_from_db()
    assert (file.state, file.stored, len(pieces)) == (FileState.CANCELLED, "", 2)
    assert "2 of about 5 rows" in pieces[1]


def test_two_requests_for_one_time_make_one_file(
    visits: list[Visit], laptop: Browser, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.TASKS = QUEUE
    _only_by_the_worker(monkeypatch, "visits_pdf")

    first = _made(laptop, "consult:visit_list_pdf")
    assert _made(laptop, "consult:visit_list_pdf") == first
    own = str(visits[0].stylist_id)
    assert _made(laptop, "consult:visit_list_pdf", stylist=own) != first
    assert DBTaskResult.objects.count() == 2


def test_an_erasure_takes_the_file_back_and_one_being_made_begins_again(
    visits: list[Visit], laptop: Browser, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    owner, now = Staff.objects.get(role=Role.OWNER), timezone.now()
    settings.TASKS = QUEUE
    _only_by_the_worker(monkeypatch, "results_csv")
    ready = _made(laptop, "consult:results_csv", table="visits")
    making.make_file.call(ready.pk)
    assert b"Bea" in _content(laptop, ready)
    waiting = _made(laptop, "consult:results_csv", table="clients")

    privacy.erase(client=Client.objects.get(name="Bea"), reason="in_person", at=now)

    ready.refresh_from_db()
    with pytest.raises(kinds.FileRefused):
        services.fetch_file(file=ready, by=owner, at=now)
    making.make_file.call(waiting.pk)
    waiting.refresh_from_db()
    assert (waiting.state, waiting.turn) == (FileState.DONE, 2)
    assert b"Ola" in _content(laptop, waiting)
    assert b"Bea" not in _content(laptop, waiting)


def test_whose_results_are_gone_is_said(
    visits: list[Visit], laptop: Browser, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.TASKS = QUEUE
    _only_by_the_worker(monkeypatch, "results_csv")
    stylist = visits[0].stylist
    file = _made(laptop, "consult:results_csv", table="visits", stylist=str(stylist.pk))
    Staff.objects.filter(pk=stylist.pk).update(has_column=False)

    making.make_file.call(file.pk)

    file.refresh_from_db()
    assert (file.state, file.fault) == (FileState.FAILED, "gone")
    assert "What it is about is no longer there." in laptop.get(FILES).text


def test_a_table_or_list_that_does_not_exist_makes_nothing(laptop: Browser) -> None:
    for page, asked in (
        ("results_csv", {"table": "x"}),
        ("results_csv", {"table": "visits", "kind": "x"}),
        ("results_pdf", {"first": "2026-02-02", "last": "2026-01-01"}),
    ):
        answer = laptop.post(reverse(f"consult:{page}"), asked)
        assert answer.headers["Location"] == reverse("consult:histories")
    assert not PreparedFile.objects.exists()
    assert not AuditEvent.objects.filter(kind="results exported").exists()
