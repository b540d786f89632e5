"""A file is for who asked for it, for a day, and lies encrypted."""

import datetime as dt
from typing import IO

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client as Browser
from django_tasks_db.models import DBTaskResult

from clients.models import Client
from clients.services import privacy
from salon import media
from salon.files import making, services, tidying
from salon.files.kinds import FileRefused, FileRequest
from salon.files.progress import Progress
from salon.models import AuditEvent, FileState, PreparedFile, Role, Staff
from tests.factories.salon import StaffFactory
from tests.salon.files.asking import NAMES, PAGE, ask, change_kind, fetched, names, stored
from tests.typed import SignIn


def test_a_long_list_is_made_and_fetched_and_lies_encrypted(boss: Browser) -> None:
    file = ask(boss)

    assert (file.state, file.rows_done) == (FileState.DONE, len(NAMES))
    page = boss.get(PAGE).text
    assert "Client list, CSV" in page
    assert "12 rows" in page
    assert "every 2s" not in page
    assert names(fetched(boss, file)) == NAMES
    assert b"Guest" not in media.read(file.stored)
    assert stored() == [file.stored]
    assert [
        AuditEvent.objects.filter(kind=kind).count()
        for kind in ("clients exported", "file fetched")
    ] == [1, 1]


def test_it_shows_how_far_it_is_and_who_is_gone_finds_it_again(
    boss: Browser, queued: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = ask(boss)
    assert "It waits for its turn" in boss.get(PAGE).text
    seen = []

    def look(wanted: FileRequest, out: IO[bytes], progress: Progress) -> None:
        progress.add(5)
        seen.append(boss.get(PAGE).text)

    change_kind(monkeypatch, write=look)
    making.make_file.call(file.pk)

    assert "5 of about 12 rows" in seen[0]
    assert 'hx-trigger="every 2s"' in seen[0]
    assert "Download the file" in boss.get(PAGE).text


def test_asked_for_twice_while_it_waits_it_is_one_file(boss: Browser, queued: None) -> None:
    assert ask(boss).pk == ask(boss).pk
    assert DBTaskResult.objects.count() == 1
    assert AuditEvent.objects.filter(kind="clients exported").count() == 1


def test_nobody_else_has_it_not_another_owner_either(
    boss: Browser, owner: Staff, client_for: SignIn, now: dt.datetime
) -> None:
    file = ask(boss)
    other = StaffFactory(salon=owner.salon, role=Role.OWNER)

    for step in ("", "cancel/", "again/"):
        assert client_for(other).post(f"{PAGE}{file.pk}/{step}").status_code == 404
    assert "Client list" not in client_for(other).get(PAGE).text
    for act in (services.fetch_file, services.cancel_file, services.ask_again):
        with pytest.raises(PermissionDenied):
            act(file=file, by=other, at=now)


def test_who_is_no_owner_any_more_cannot_fetch_it(
    boss: Browser, owner: Staff, now: dt.datetime
) -> None:
    file = ask(boss)
    Staff.objects.filter(pk=owner.pk).update(role=Role.STYLIST)
    owner.refresh_from_db()

    assert boss.post(f"{PAGE}{file.pk}/").status_code == 403
    with pytest.raises(PermissionDenied):
        services.fetch_file(file=file, by=owner, at=now)
    assert not AuditEvent.objects.filter(kind="file fetched").exists()


@pytest.mark.parametrize("change", [{"role": Role.STYLIST}, {"is_active": False}])
def test_who_may_no_longer_have_it_before_it_is_made_gets_none(
    boss: Browser, owner: Staff, queued: None, change: dict[str, object]
) -> None:
    file = ask(boss)
    Staff.objects.filter(pk=owner.pk).update(**change)

    making.make_file.call(file.pk)

    file.refresh_from_db()
    assert (file.state, file.fault, stored()) == (FileState.FAILED, "forbidden", [])


def test_after_a_day_it_is_deleted_and_can_be_made_again(
    boss: Browser, owner: Staff, now: dt.datetime
) -> None:
    file = ask(boss)
    assert file.expires_at is not None
    assert file.ended_at is not None
    assert file.expires_at - file.ended_at == tidying.KEPT
    PreparedFile.objects.update(expires_at=now)

    assert "It is deleted on" not in boss.get(PAGE).text
    answer = boss.post(f"{PAGE}{file.pk}/", follow=True)
    assert "This file is deleted." in answer.text
    tidying.tidy()
    assert stored() == []
    assert PreparedFile.objects.get(pk=file.pk).state == FileState.EXPIRED
    assert "Its time is over" in boss.get(PAGE).text

    boss.post(f"{PAGE}{file.pk}/again/")
    fresh = PreparedFile.objects.latest("pk")
    assert names(fetched(boss, fresh)) == NAMES
    PreparedFile.objects.filter(pk=file.pk).update(requested_at=now - dt.timedelta(days=8))
    tidying.tidy()
    assert list(PreparedFile.objects.all()) == [fresh]


def test_a_stored_file_that_was_damaged_is_not_given(boss: Browser) -> None:
    file = ask(boss)
    content = media.read(file.stored)
    media.media().replace(file.stored, content[:-1] + bytes([content[-1] ^ 1]))

    answer = boss.post(f"{PAGE}{file.pk}/", follow=True)

    assert "cannot be read any more" in answer.text
    assert PreparedFile.objects.get(pk=file.pk).state == FileState.FAILED
    assert not AuditEvent.objects.filter(kind="file fetched").exists()


def test_an_erasure_takes_back_what_was_made_before(
    boss: Browser, owner: Staff, now: dt.datetime
) -> None:
    file = ask(boss)
    privacy.erase(client=Client.objects.all()[0], reason="in_person", at=now)

    file.refresh_from_db()
    with pytest.raises(FileRefused):
        services.fetch_file(file=file, by=owner, at=now)
    tidying.tidy()
    assert stored() == []


def test_the_page_is_german_for_a_german_owner(owner: Staff, client_for: SignIn) -> None:
    Staff.objects.filter(pk=owner.pk).update(language="de")

    page = client_for(owner).get(PAGE).text

    assert "Dateien in Vorbereitung" in page
    assert "Noch keine Dateien" in page
