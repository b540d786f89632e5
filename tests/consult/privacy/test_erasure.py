"""What a client may ask for, and what goes with time (GDPR, articles 17, 18 and 5 (1) (e))."""

import datetime as dt
import io
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from django.core.checks import run_checks
from django.core.management import call_command
from django.db import connection
from pytest_django import DjangoCaptureOnCommitCallbacks

from clients import services as desk
from clients.models import (
    Client,
    ClientAlert,
    ClientKey,
    Erasure,
    HairHistoryEntry,
    Photo,
    SearchKey,
)
from clients.photos import store
from clients.privacy import erasure_list
from clients.sealed.fields import Erased
from clients.selectors import privacy
from clients.services.photos import take_photo
from consult.agreement import evidence
from consult.models import BowlMixed, ResultSeen, SignOff
from salon import database_setting
from salon import services as house
from salon.models import Staff
from salon.selectors import policy_in_force
from tests.factories import photos as pictures
from tests.factories.consult import Story
from tests.factories.erasure import end, erase
from tests.typed import present

DAY = dt.timedelta(days=1)
NAME = "Ada Brandt"


def test_one_owner_alone_cannot_erase_a_reaction_in_an_evening(
    signed: Story, owner: Staff, now: dt.datetime
) -> None:
    """The request waits; and what a claim needs is never in it before its time."""
    end(signed)
    client = signed.visit.client
    desk.request_erasure(client=client, reason="in_person", by=owner, at=now)

    with pytest.raises(desk.PrivacyRefused, match="not over"):
        desk.erase_client(client=client, by=owner, at=now + DAY)
    with pytest.raises(desk.PrivacyRefused, match="already"):
        desk.request_erasure(client=client, reason="in_person", by=owner, at=now)
    desk.erase_client(client=client, by=owner, at=now + privacy.WAIT)

    assert "Blisters" in ClientAlert.objects.get(kind="reaction").text


def test_a_shorter_rule_hides_nothing_today(
    signed: Story, owner: Staff, now: dt.datetime
) -> None:
    before = privacy.rights_of(client=signed.visit.client, at=now).keep_until
    policy = {
        field: getattr(policy_in_force(salon=owner.salon), field)
        for field in ("patch_lead_hours", "patch_read_hours", "patch_valid_months")
    }
    house.revise_policy(by=owner, at=now, **policy, records_keep_years=1)

    assert privacy.rights_of(client=signed.visit.client, at=now + DAY).keep_until == before
    later = privacy.rights_of(client=signed.visit.client, at=now + 31 * DAY).keep_until
    assert later is not None
    assert before is not None
    assert later.year == before.year - 5


def test_any_owner_stops_it(signed: Story, owner: Staff, now: dt.datetime) -> None:
    end(signed)
    client = signed.visit.client
    desk.request_erasure(client=client, reason="in_person", by=owner, at=now)
    desk.stop_erasure(client=client, by=owner, at=now + DAY)

    call_command("retain", stdout=io.StringIO())

    client.refresh_from_db()
    assert client.name == NAME
    with pytest.raises(desk.PrivacyRefused):
        desk.erase_client(client=client, by=owner, at=now + privacy.WAIT)


def test_it_waits_for_what_is_booked(signed: Story, owner: Staff, now: dt.datetime) -> None:
    with pytest.raises(desk.PrivacyRefused, match="booked or going on"):
        desk.request_erasure(client=signed.visit.client, reason="in_person", by=owner, at=now)


def test_what_need_not_stay_is_unreadable_for_good(
    signed: Story, owner: Staff, now: dt.datetime
) -> None:
    row = erase(signed, owner, now)
    client = Client.objects.get(pk=signed.visit.client_id)

    assert (client.name, client.phone, client.email, client.note) == (
        f"Erased client {client.pk}", "", "", "",
    )  # fmt: skip
    assert client.birth_date is None
    assert isinstance(HairHistoryEntry.objects.get().note, Erased)
    assert not SearchKey.objects.filter(client=client).exists()
    assert not list(Client.objects.for_salon(owner.salon).in_register().filter(pk=client.pk))
    assert row.kept_until is not None
    assert row.kept_until.year in {now.year + 6, now.year + 7}
    assert row.name == NAME  # under the key that is kept
    if connection.vendor == "sqlite":
        whole = connection.connection.serialize()
        for words in (NAME, "ada@example.com", "likes tea", "from her sister", "Blisters"):
            assert words.encode() not in whole, words


def test_the_chain_verifies_before_and_after_everything_is_gone(
    signed: Story, owner: Staff, now: dt.datetime
) -> None:
    erase(signed, owner, now)
    assert json.loads(SignOff.objects.get().snapshot)["client"]["name"] == NAME
    assert evidence.look(owner.salon).broken is None

    desk.run_retention(salon=owner.salon, at=now + 7 * 366 * DAY)

    link = SignOff.objects.get()
    assert isinstance(link.snapshot, Erased)
    assert isinstance(link.content_salt, Erased)
    assert isinstance(ClientAlert.objects.get(kind="reaction").text, Erased)
    assert present(Erasure.objects.last()).step == "ended"
    assert not ClientKey.objects.filter(client=signed.visit.client).exclude(wrapped="").exists()
    assert evidence.look(owner.salon).broken is None
    # What statistics count with stays.
    assert BowlMixed.objects.count() + ResultSeen.objects.count() >= 0
    assert link.visit.line_id == signed.visit.line_id


def test_a_destroyed_key_without_an_erasure_is_tampering(
    signed: Story, owner: Staff, now: dt.datetime
) -> None:
    ClientKey.objects.filter(purpose="kept").update(wrapped="", destroyed_at=now)

    broken = evidence.look(owner.salon).broken

    assert broken is not None
    assert "no erasure is on record" in broken.reason


def test_a_restored_backup_erases_again(
    signed: Story, owner: Staff, now: dt.datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The list outside of the database knows whom an older backup brings back."""
    client = signed.visit.client
    registered = client.registered_at
    kept = Client.objects.filter(pk=client.pk).values().get()
    keys = list(ClientKey.objects.filter(client=client).values())
    erase(signed, owner, now)
    assert erasure_list.complete() == 1
    assert NAME not in erasure_list.path().read_text()
    assert erasure_list.complete() == 0

    # The backup: the register, the keys and the record of the erasure as they were.
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM clients_erasure")
    Client.objects.filter(pk=client.pk).update(
        **{k: v for k, v in kept.items() if k not in {"id", "registered_at"}}
    )
    for key in keys:
        ClientKey.objects.filter(pk=key["id"]).update(wrapped=key["wrapped"], destroyed_at=None)
    assert HairHistoryEntry.objects.get().note == "from her sister"
    assert Client.objects.get(pk=client.pk).registered_at == registered
    assert [one.pk for one, _line in erasure_list.forgotten()] == [client.pk]
    faults = [one.id for one in run_checks(tags=["database"], databases=["default"])]
    assert "clients.E003" in faults

    out = io.StringIO()
    call_command("replay_erasures", stdout=out)

    assert "1 entries erased again" in out.getvalue()
    assert Client.objects.get(pk=client.pk).name == f"Erased client {client.pk}"
    assert isinstance(HairHistoryEntry.objects.get().note, Erased)
    assert Erasure.objects.get().kept_until is not None
    assert erasure_list.forgotten() == []


def test_a_number_that_somebody_else_has_now_is_left_alone(
    signed: Story, owner: Staff, now: dt.datetime
) -> None:
    erase(signed, owner, now)
    erasure_list.complete()
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM clients_erasure")
    Client.objects.filter(pk=signed.visit.client_id).update(
        shut="", registered_at=now + DAY, name="Somebody Else"
    )

    assert erasure_list.forgotten() == []


def test_photos_go_with_an_erasure(
    story: Story,
    owner: Staff,
    now: dt.datetime,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    appointment = story.visit.appointment
    pictures.agree(appointment, story.by, now)
    photo = take_photo(
        appointment=appointment, picture=pictures.phone_picture(), moment="before",
        by=story.by, at=now,
    )  # fmt: skip
    assert store.exists(photo)

    with django_capture_on_commit_callbacks(execute=True):
        erase(story, owner, now)

    assert not store.exists(photo)
    assert Photo.objects.get().removal.reason == "erased"


@pytest.mark.skipif(connection.vendor != "sqlite", reason="looks into an SQLite file")
def test_a_destroyed_key_is_overwritten_in_the_file(tmp_path: Path) -> None:
    """SQLite: "secure_delete ... causes SQLite to overwrite deleted content with zeros"."""
    command = "PRAGMA secure_delete=ON;"
    assert command in Path(database_setting.__file__).read_text()
    file = tmp_path / "keys"
    with closing(sqlite3.connect(file)) as db:
        db.executescript(command)
        db.execute("CREATE TABLE k (wrapped TEXT)")
        db.execute("INSERT INTO k VALUES (?)", ["gAAAA-wrapped-key-of-a-client"])
        db.commit()
        assert b"wrapped-key" in file.read_bytes()
        db.execute("UPDATE k SET wrapped = ''")
        db.commit()
    assert b"wrapped-key" not in file.read_bytes()
