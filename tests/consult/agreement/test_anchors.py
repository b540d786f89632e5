"""Anchors: the newest sign-off noted elsewhere, found again, and stamped by others."""

import datetime as dt
import json
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core import mail
from django.core.management import CommandError, call_command
from django.urls import reverse
from django_tasks_db.models import DBTaskResult
from pytest_django import Settings

from consult import services, tasks
from consult.agreement import anchors, evidence
from consult.models import Anchor
from consult.paper import content
from salon import signing_keys, timestamps
from salon.mailing import letters
from salon.models import AuditEvent, Letter, LetterState, Salon, Staff
from tests.factories.consult import Story
from tests.openssl import openssl
from tests.salon.mailing.server import closed_port
from tests.timestamping import make_authority, serving
from tests.typed import SignIn, present
from tests.workers import QUEUE


@pytest.fixture
def signed(story: Story) -> Story:
    """A visit with two sign-offs: the second, after a change of mind, is the newest."""
    story.answer().read()
    story.choose(aim=60)
    story.sign()
    story.choose(aim=10)
    story.sign()
    return story


def _owner(owner: Staff) -> Staff:
    owner.email = "brigid@example.com"
    owner.save()
    return owner


def test_an_anchor_goes_everywhere_and_verifies(
    signed: Story, owner: Staff, settings: Settings, tmp_path: Path, client_for: SignIn
) -> None:
    """A local authority of RFC 3161 stamps it, and `openssl ts -verify` agrees."""
    authority = tmp_path / "authority"
    authority.mkdir()
    settings.TIMESTAMP_CERTIFICATES = str(make_authority(authority))
    settings.ANCHOR_DIR = str(tmp_path / "elsewhere")
    salon = signed.visit.salon
    browser = client_for(_owner(owner))

    with serving(authority) as settings.TIMESTAMP_URL:
        browser.post(reverse("consult:evidence"))

    anchor = Anchor.objects.get()
    assert (anchor.position, anchor.made_by, anchor.faults) == (2, owner, {})
    assert Letter.objects.get().state == LetterState.SENT
    assert AuditEvent.objects.get(kind="anchor mailed").detail == {"reader": owner.pk}
    (file,) = (tmp_path / "elsewhere").rglob("*.txt")
    assert file.read_text() == anchor.text
    assert abs(present(anchor.stamped_at) - anchor.made_at) < dt.timedelta(minutes=5)
    (message,) = mail.outbox
    assert message.to == ["brigid@example.com"]
    assert message.extra_headers["Auto-Submitted"] == "auto-generated"  # RFC 3834
    assert ".invalid" not in message.extra_headers["Message-ID"]
    assert [name for name, *_more in message.attachments] == [
        file.name,
        file.with_suffix(".tsr").name,
    ]
    assert message.attachments[0][1] == anchor.text
    assert anchors.fingerprint(anchor.digest) in message.body
    assert signed.visit.client.name not in message.body + anchor.text
    printed = openssl(
        f"ts -verify -data {file} -in {file.with_suffix('.tsr')} -CAfile root.pem",
        folder=authority,
    )
    assert "Verification: OK" in printed

    out = StringIO()
    call_command("verify_signoffs", anchor=[tmp_path / "elsewhere"], stdout=out)
    said = out.getvalue()
    assert "as anchored up to 2" in said
    assert "time stamp holds" in said
    page = browser.get(reverse("consult:evidence"), {"check": "1"}).text
    assert "2 sign-offs, all as they were signed" in page
    assert "Compared with 2 anchors" in page
    download = browser.get(reverse("consult:anchor_file", args=[anchor.pk]))
    assert download.content.decode() == anchor.text
    stamp = browser.get(reverse("consult:anchor_file", args=[anchor.pk]), {"stamp": "1"})
    assert timestamps.stamped_at(stamp.content, anchor.text.encode()) == anchor.stamped_at
    assert salon.name in file.read_text()


def test_a_stamp_of_another_text_or_authority_does_not_hold(
    settings: Settings, tmp_path: Path
) -> None:
    folders = [tmp_path / "one", tmp_path / "other"]
    for folder in folders:
        folder.mkdir()
    roots = [make_authority(folder, folder.name) for folder in folders]
    settings.TIMESTAMP_CERTIFICATES = str(roots[0])
    with serving(folders[0]) as settings.TIMESTAMP_URL:
        stamp = timestamps.stamp(b"an anchor")
        settings.TIMESTAMP_CERTIFICATES = str(roots[1])
        with pytest.raises(timestamps.StampRefused, match="does not hold"):
            timestamps.stamp(b"an anchor")

    with pytest.raises(timestamps.StampRefused, match="does not hold"):
        timestamps.stamped_at(stamp, b"an anchor")
    settings.TIMESTAMP_CERTIFICATES = str(roots[0])
    with pytest.raises(timestamps.StampRefused, match="does not hold"):
        timestamps.stamped_at(stamp, b"another anchor")
    with pytest.raises(timestamps.StampRefused, match="not a time stamp"):
        timestamps.stamped_at(b"\x30\x00", b"an anchor")


def test_what_did_not_arrive_is_named_and_the_command_fails(
    signed: Story, owner: Staff, settings: Settings, tmp_path: Path, client_for: SignIn
) -> None:
    with pytest.raises(CommandError, match="nowhere outside"):
        call_command("anchor_signoffs")
    (tmp_path / "file").touch()
    settings.ANCHOR_DIR = str(tmp_path / "file")  # no folder
    settings.TIMESTAMP_URL = "http://127.0.0.1:9/"  # discard: nobody answers
    settings.EMAIL_BACKEND = "salon.mail.NoServer"
    _owner(owner)

    with pytest.raises(CommandError, match="cannot be reached"):
        call_command("anchor_signoffs")

    assert set(present(Anchor.objects.first()).faults) == {"stamp", "file"}
    assert evidence.last_anchor(signed.visit.salon) is None
    page = client_for(owner).get(reverse("consult:evidence")).text
    assert "nowhere outside" in page
    assert "The mail was not sent: no mail server is set up." in page
    assert "none yet" in page


def test_anchor_now_waits_for_the_worker_and_the_page_says_how_far_it_is(
    signed: Story, owner: Staff, settings: Settings, client_for: SignIn
) -> None:
    settings.TASKS = QUEUE
    browser, page = client_for(_owner(owner)), reverse("consult:evidence")

    asked = browser.post(page, follow=True).text
    assert "An anchor waits to be made" in asked
    assert not Anchor.objects.exists()

    tasks.anchor_now.call(owner.pk)
    DBTaskResult.objects.filter(task_path=tasks.anchor_now.module_path).delete()
    shown = browser.get(page).text
    assert "The mail is queued." in shown
    assert "An anchor waits" not in shown
    assert "nowhere outside" not in shown
    assert mail.outbox == []

    letters.send_now(Letter.objects.get())
    assert "mailed" in browser.get(page).text
    assert len(mail.outbox) == 1


def test_an_owner_who_has_left_is_sent_no_anchor(
    signed: Story, owner: Staff, settings: Settings
) -> None:
    settings.TASKS = QUEUE
    tasks.anchor_now.call(_owner(owner).pk)
    owner.is_active = False
    owner.save()

    letters.send_now(Letter.objects.get())

    assert Letter.objects.get().state == LetterState.DROPPED
    assert mail.outbox == []
    assert evidence.last_anchor(signed.visit.salon) is None


def test_while_the_mail_server_is_away_no_second_anchor_is_made(
    signed: Story, owner: Staff, settings: Settings
) -> None:
    settings.TASKS = QUEUE
    settings.EMAIL_BACKEND, settings.EMAIL_PORT = "salon.mailing.smtp.Backend", closed_port()
    settings.EMAIL_HOST = "localhost"
    _owner(owner)
    salon = signed.visit.salon
    late = signed.at + dt.timedelta(days=2)

    with time_machine.travel(late, tick=False):
        with pytest.raises(CommandError, match="the worker tries again"):
            call_command("anchor_signoffs", closed_days=True)
        call_command("anchor_signoffs", closed_days=True)

    assert Anchor.objects.count() == 1
    assert evidence.last_anchor(salon) is None
    assert not evidence.is_due(salon, at=late)
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    with time_machine.travel(late, tick=False):
        letters.send_now(Letter.objects.get())
    assert evidence.last_anchor(salon) == Anchor.objects.get()


def test_a_timer_anchors_each_day_after_closing_and_only_what_is_new(
    signed: Story, settings: Settings, tmp_path: Path
) -> None:
    settings.ANCHOR_DIR = str(tmp_path)
    salon = signed.visit.salon
    day = signed.at.astimezone(salon.zone).date()
    for hour, made in ((salon.opens_at, 0), (salon.closes_at, 1), (dt.time(22), 1)):
        at = dt.datetime.combine(day, hour, tzinfo=salon.zone)
        with time_machine.travel(at, tick=False):
            call_command("anchor_signoffs", closed_days=True)
        assert Anchor.objects.count() == made

    signed.choose(aim=30)
    newest = signed.sign()
    at = dt.datetime.combine(day, dt.time(6), tzinfo=salon.zone) + dt.timedelta(days=2)
    with time_machine.travel(at, tick=False):
        call_command("anchor_signoffs", closed_days=True)

    last = present(Anchor.objects.first())
    said = anchors.read(last.text, keys=signing_keys.known())
    assert said.digests == {3: newest.digest}


def test_a_forged_anchor_is_refused(signed: Story, settings: Settings, tmp_path: Path) -> None:
    row = present(services.anchor_sign_offs(salon=signed.visit.salon, by=None, at=signed.at))
    first, body, signature = row.text.splitlines()
    other = json.dumps({**json.loads(body), "position": 9})
    for text, why in (
        (f"{first}\n{other}\n{signature}\n", "signature does not match"),
        (f"{first}\n{body.replace(row.digest[:8], '0' * 8)}\n{signature}", "does not match"),
        (f"{first}\n{json.dumps({'key': 'x'})}\n{signature}", "unknown key"),
        (f"{first}\n[]\n{signature}", "not an anchor"),
        ("", "not an anchor"),
    ):
        (tmp_path / "anchor.txt").write_text(text)
        with pytest.raises(CommandError, match=why):
            call_command("verify_signoffs", anchor=[tmp_path / "anchor.txt"])
    with pytest.raises(CommandError, match="No such file"):
        call_command("verify_signoffs", anchor=[tmp_path / "missing.txt"])


def test_a_printed_sheet_carries_position_and_fingerprint(
    signed: Story, capsys: pytest.CaptureFixture[str]
) -> None:
    first, newest = signed.visit.sign_offs.order_by("number")
    sheet: dict[str, Any] = content.sign_off_sheet(first)
    salon = str(signed.visit.salon_id)

    assert sheet["newest"] == newest
    call_command("verify_signoffs", printed=[salon, "1", sheet["fingerprint"]])
    assert "sign-off 1 is the one that was printed" in capsys.readouterr().out
    for printed in (
        ["2", sheet["fingerprint"]],
        ["3", sheet["fingerprint"]],
        ["1", sheet["fingerprint"][:4]],
        ["one", "x"],
    ):
        with pytest.raises(CommandError):
            call_command("verify_signoffs", printed=[salon, *printed])


def test_an_owner_sees_what_is_wrong(
    signed: Story, salon: Salon, owner: Staff, client_for: SignIn
) -> None:
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("UPDATE consult_signoff SET signed_name = 'Nobody' WHERE number = 2")

    page = client_for(owner).get(reverse("consult:evidence"), {"check": "1"}).text

    assert "Sign-off 2: what was signed has changed" in page
