"""A forgotten password: a signed link by mail, once, for an hour; it tells no names."""

import datetime as dt
import re
from typing import Any

import pytest
import time_machine
from django.core import mail
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from salon.models import AuditEvent, Salon, Staff, StaffSession
from tests.factories.salon import StaffFactory
from tests.workers import QUEUE

OLD, NEW = "three kettles and a lamp", "seven spoons under the moon"


@pytest.fixture
def ada(salon: Salon) -> Staff:
    staff = StaffFactory(
        salon=salon, username="ada", display_name="Ada", email="ada@example.com"
    )
    staff.set_password(OLD)
    staff.save()
    return staff


def _ask(username: str = "ada") -> Any:
    return Browser().post("/sign-in/forgot/", {"username": username}, follow=True)


def _link() -> str:
    found = re.search(r"https?://[^/]+(/sign-in/new/\S+)", str(mail.outbox[-1].body))
    assert found
    return found.group(1)


def _choose(browser: Browser, link: str, password: str = NEW) -> Any:
    page = browser.get(link, follow=True)
    where = page.redirect_chain[-1][0] if page.redirect_chain else link
    return browser.post(where, {"new_password1": password, "new_password2": password})


def test_a_link_sets_a_new_password_and_ends_every_session(ada: Staff) -> None:
    browser = Browser()
    browser.post("/sign-in/", {"username": "ada", "password": OLD})
    assert StaffSession.objects.filter(staff_id=ada.pk).exists()

    answer = _ask()
    refused = _choose(Browser(), _link(), "short")
    done = _choose(Browser(), _link())

    assert "A link is on its way" in answer.text
    assert mail.outbox[0].to == ["ada@example.com"]
    assert refused.status_code == 422
    assert done.headers["Location"] == "/sign-in/"
    assert not StaffSession.objects.filter(staff_id=ada.pk).exists()
    ada.refresh_from_db()
    assert ada.check_password(NEW)
    kinds = set(AuditEvent.objects.values_list("kind", flat=True))
    assert {"reset link mailed", "password reset by mail"} <= kinds


def test_a_link_works_once(ada: Staff) -> None:
    _ask()
    link = _link()
    _choose(Browser(), link)

    assert "This link does not work" in Browser().get(link, follow=True).text
    ada.refresh_from_db()
    assert ada.check_password(NEW)


def test_a_link_works_for_an_hour(ada: Staff) -> None:
    _ask()
    link = _link()

    with time_machine.travel(timezone.now() + dt.timedelta(minutes=61)):
        assert "This link does not work" in Browser().get(link, follow=True).text


@pytest.mark.parametrize("name", ["nobody", "ada@example.com"])
def test_the_answer_is_the_same_for_every_name(ada: Staff, name: str) -> None:
    known, other = _ask(), _ask(name)

    token = re.compile(r"\b\w{64}\b")
    assert token.sub("", known.text) == token.sub("", other.text)
    assert len(mail.outbox) == 1


@pytest.mark.parametrize("email", ["ada@example.com", ""])
def test_the_request_does_the_same_for_every_name(
    ada: Staff, settings: Any, email: str
) -> None:
    """Counted, not timed: the same queries in the same order, one task, and no mail."""
    settings.TASKS = QUEUE
    Staff.objects.update(email=email)
    seen = []
    for name in ("ada", "nobody", "ada@example.com"):
        with CaptureQueriesContext(connection) as queries:
            answer = Browser().post("/sign-in/forgot/", {"username": name})
        texts = [re.sub(r"'[^']*'|\d+|\bNULL\b", "?", one["sql"]) for one in queries]
        seen.append((answer.status_code, answer.headers["Location"], texts))

    assert seen[0] == seen[1] == seen[2]
    assert not any("salon_staff" in text and "session" not in text for text in seen[0][2])
    assert mail.outbox == []
    assert DBTaskResult.objects.count() == 3
    assert not any("nobody" in str(one.args_kwargs) for one in DBTaskResult.objects.all())
    for _round in ("who may have one", "its letter"):
        for queued in DBTaskResult.objects.ready():
            queued.task.func(*queued.args_kwargs["args"])
            queued.set_successful(None)
    assert len(mail.outbox) == (1 if email else 0)


def test_who_left_or_has_no_address_gets_none(ada: Staff) -> None:
    ada.is_active = False
    ada.save()
    _ask()
    ada.is_active, ada.email = True, ""
    ada.save()
    _ask()

    assert mail.outbox == []


def test_nobody_fills_a_mailbox(ada: Staff) -> None:
    for _n in range(5):
        _ask()

    assert len(mail.outbox) == 3


def test_the_link_names_the_address_of_the_settings(ada: Staff, settings: Any) -> None:
    settings.ALLOWED_HOSTS, settings.SITE_URL = ["*"], "https://salon.example"
    Browser(headers={"Host": "evil.example"}).post("/sign-in/forgot/", {"username": "ada"})

    assert "https://salon.example/sign-in/new/" in mail.outbox[0].body
    assert "evil" not in mail.outbox[0].body
    assert mail.outbox[0].extra_headers["Auto-Submitted"] == "auto-generated"  # RFC 3834


def test_without_a_mail_server_the_page_says_whom_to_ask(ada: Staff, settings: Any) -> None:
    settings.EMAIL_BACKEND = "salon.mail.NoServer"

    assert "Ask an owner" in Browser().get("/sign-in/forgot/").text
