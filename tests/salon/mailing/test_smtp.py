"""What becomes of a mail, by a real server that takes it, refuses it, breaks off or is silent.

The meaning of the replies: RFC 5321, 4.2; that a break after the end of data leaves a doubt:
RFC 1047. Headers: RFC 3834 (Auto-Submitted), RFC 5322 (Message-ID, Reply-To).
"""

import datetime as dt
import email
import email.policy
import socket
from email.message import EmailMessage as Parsed
from pathlib import Path

import pytest
from django.utils import timezone
from django_tasks_db.models import DBTaskResult
from pytest_django import Settings

from salon.mailing import letters, trial
from salon.models import Letter, LetterState, Salon, Staff
from tests.salon.mailing.server import MailServer, closed_port
from tests.typed import SignIn

pytestmark = pytest.mark.django_db


@pytest.fixture
def ada(owner: Staff, salon: Salon) -> Staff:
    salon.email = "hello@corner.example"
    salon.save()
    owner.email = "ada@example.com"
    owner.save()
    return owner


def _sent(ada: Staff) -> Letter:
    """Ask for a test mail and do the task that sends it."""
    letter = trial.send_test_mail(by=ada, at=timezone.now())
    letters.send_letter.call(letter.pk)
    letter.refresh_from_db()
    return letter


def _next_tries(letter: Letter) -> list[dt.timedelta]:
    """Return after what pause each further try is queued."""
    tasks = DBTaskResult.objects.filter(args_kwargs={"args": [letter.pk], "kwargs": {}})
    waits = [task.run_after - task.enqueued_at for task in tasks.order_by("enqueued_at")]
    return [dt.timedelta(minutes=round(w.total_seconds() / 60)) for w in waits[1:]]


def test_a_mail_is_taken_over_an_encrypted_connection(server: MailServer, ada: Staff) -> None:
    letter = _sent(ada)

    assert (letter.state, letter.tries) == (LetterState.SENT, 1)
    assert server.was_encrypted == [True]
    (taken,) = server.taken
    assert taken.rcpt_tos == ["ada@example.com"]
    assert isinstance(taken.content, bytes)
    message = email.message_from_bytes(taken.content, policy=email.policy.default)
    assert isinstance(message, Parsed)
    assert message["Auto-Submitted"] == "auto-generated"
    assert message["Reply-To"] == "hello@corner.example"
    assert message["From"].addresses[0].addr_spec == "desk@salon.example"
    assert message["From"].addresses[0].display_name == ada.salon.name
    assert message["Message-ID"] == f"<test.{letter.pk}@salon.example>"
    assert not message.defects


@pytest.mark.parametrize(
    ("step", "answer", "expected"),
    [
        ("MAIL", "421 4.3.2 Closing down", ("busy", 421)),
        ("RCPT", "450 4.2.1 Come back later", ("later", 450)),
        ("RCPT", "421 4.3.2 Closing down", ("busy", 421)),
        ("DATA", "451 4.3.0 No room", ("busy", 451)),
        ("MAIL", "drop", ("unreachable", None)),
        ("RCPT", "drop", ("unreachable", None)),
    ],
)
def test_what_the_server_did_not_take_is_tried_again(
    server: MailServer, ada: Staff, step: str, answer: str, expected: object
) -> None:
    server.at[step] = answer

    letter = _sent(ada)

    assert letter.state == LetterState.WAITING
    assert (letter.reason, letter.reply_code) == expected
    assert _next_tries(letter) == [dt.timedelta(minutes=1)]
    server.at.clear()
    letters.send_letter.call(letter.pk)
    letter.refresh_from_db()
    assert (letter.state, letter.tries, len(server.taken)) == (LetterState.SENT, 2, 1)


@pytest.mark.parametrize(
    ("step", "answer", "reason"),
    [
        ("RCPT", "550 5.1.1 No such user", "address"),
        ("MAIL", "550 5.7.1 You may not send", "rejected"),
        ("DATA", "554 5.6.0 No thanks", "rejected"),
    ],
)
def test_what_the_server_refuses_for_good_is_not_tried_again(
    server: MailServer, ada: Staff, step: str, answer: str, reason: str
) -> None:
    server.at[step] = answer

    letter = _sent(ada)

    assert (letter.state, letter.reason) == (LetterState.REFUSED, reason)
    assert letter.reply_code == int(answer[:3])
    assert _next_tries(letter) == []


def test_a_refusal_is_worded_for_the_owner_without_the_servers_own_words(
    server: MailServer, ada: Staff, client_for: SignIn
) -> None:
    server.at["RCPT"] = "550 5.1.1 <ada@example.com>: no such user"
    _sent(ada)

    page = client_for(ada).get("/salon/work/").text

    assert "this address takes no mail" in page
    assert "550" in page
    assert "no such user" not in page  # they may name somebody


@pytest.mark.parametrize("step", ["drop", "silence"])
def test_a_break_after_the_text_was_handed_over_is_a_doubt_and_never_repeated(
    server: MailServer, ada: Staff, step: str
) -> None:
    server.at["DATA"] = step

    letter = _sent(ada)
    letters.send_letter.call(letter.pk)
    letter.refresh_from_db()

    assert (letter.state, letter.reason) == (LetterState.PERHAPS, "dropped")
    assert (letter.tries, _next_tries(letter)) == (1, [])


def test_a_server_that_is_not_there_is_tried_again(by_smtp: Settings, ada: Staff) -> None:
    by_smtp.EMAIL_PORT = closed_port()

    assert (_sent(ada).state, _sent(ada).reason) == (LetterState.WAITING, "unreachable")


@pytest.mark.slow
def test_a_server_that_says_nothing_is_given_the_time_of_the_settings(
    by_smtp: Settings, ada: Staff
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as silent:
        by_smtp.EMAIL_HOST, by_smtp.EMAIL_PORT = "127.0.0.1", silent.getsockname()[1]

        letter = _sent(ada)

    assert (letter.state, letter.reason) == (LetterState.WAITING, "silent")


def test_a_wrong_password_waits_for_the_right_one(
    server: MailServer, by_smtp: Settings, ada: Staff
) -> None:
    by_smtp.EMAIL_HOST_PASSWORD = "another"

    letter = _sent(ada)

    assert (letter.state, letter.reason, letter.reply_code) == ("waiting", "login", 535)
    assert server.taken == []


def test_no_mail_goes_to_a_server_whose_certificate_nobody_vouches_for(
    server: MailServer, ada: Staff, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("SSL_CERT_FILE")

    letter = _sent(ada)

    assert (letter.state, letter.reason) == (LetterState.WAITING, "certificate")
    assert server.taken == []


def test_no_mail_goes_to_a_server_that_does_not_encrypt(
    by_smtp: Settings, ada: Staff, tmp_path: Path
) -> None:
    with MailServer(tmp_path, offers_tls=False) as server:
        by_smtp.EMAIL_PORT = server.port
        letter = _sent(ada)

    assert (letter.state, letter.reason) == (LetterState.WAITING, "no_tls")
    assert server.taken == []


def test_pauses_grow_until_the_letter_is_of_no_use(by_smtp: Settings, ada: Staff) -> None:
    by_smtp.EMAIL_PORT = closed_port()
    letter = letters.post(
        kind="test",
        about=ada.pk,
        salon=ada.salon,
        at=timezone.now(),
        within=dt.timedelta(days=1),
    )

    for _try in range(6):
        letters.send_letter.call(letter.pk)
    assert _next_tries(letter) == [
        dt.timedelta(minutes=minutes) for minutes in (1, 5, 15, 60, 240, 240)
    ]

    Letter.objects.filter(pk=letter.pk).update(until=timezone.now() - dt.timedelta(minutes=1))
    letters.send_letter.call(letter.pk)
    letter.refresh_from_db()
    assert (letter.state, letter.reason) == (LetterState.REFUSED, "unreachable")


def test_a_letter_whose_worker_was_killed_is_not_sent_again(
    server: MailServer, ada: Staff
) -> None:
    letter = trial.send_test_mail(by=ada, at=timezone.now())
    Letter.objects.filter(pk=letter.pk).update(state=LetterState.SENDING)

    letters.send_letter.call(letter.pk)

    letter.refresh_from_db()
    assert (letter.state, letter.reason) == (LetterState.PERHAPS, "worker")
    assert server.taken == []


def test_the_owner_asks_for_a_test_and_reads_what_became_of_it(
    server: MailServer, ada: Staff, client_for: SignIn
) -> None:
    laptop = client_for(ada)
    server.at["RCPT"] = "450 4.2.1 Come back later"
    page = laptop.post("/salon/work/test-mail/", follow=True).text
    assert "The test mail is on its way." in page
    assert 'hx-trigger="every 2s"' in page
    letter = Letter.objects.get()
    letters.send_letter.call(letter.pk)

    page = laptop.get("/salon/work/").text
    assert "asks to try this address again later" in page
    assert "450" in page

    server.at.clear()
    letters.send_letter.call(letter.pk)
    page = laptop.get("/salon/work/").text
    assert "The test mail left" in page
    assert "The last mail left" in page
    assert "every 2s" not in page


def test_an_owner_without_an_address_is_told_so(owner: Staff, client_for: SignIn) -> None:
    page = client_for(owner).post("/salon/work/test-mail/", follow=True).text

    assert "Add your e-mail address" in page
    assert not Letter.objects.exists()
