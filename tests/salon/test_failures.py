"""A failure that nobody foresaw: a page with a reference that the log has too."""

import logging
import re
from unittest import mock

import pytest
from django.db import OperationalError
from django.test import Client as Browser

from salon.failures import LineFormatter
from salon.models import Staff
from tests.typed import SignIn, present


@pytest.fixture
def browser(client_for: SignIn, owner: Staff) -> Browser:
    found = client_for(owner)
    found.raise_request_exception = False
    return found


def test_the_page_gives_the_reference_that_the_log_has(
    browser: Browser, caplog: pytest.LogCaptureFixture
) -> None:
    with mock.patch("salon.selectors.team", side_effect=OperationalError("no such table")):
        answer = browser.get("/salon/")

    reference = present(re.search(r"<code dir=\"ltr\">(\w{8})</code>", answer.text)).group(1)
    assert answer.status_code == 500
    assert answer.headers["Cache-Control"] == "no-store"
    assert "no such table" not in answer.text
    (record,) = [row for row in caplog.records if row.levelno == logging.ERROR]
    first, *rest = LineFormatter("{message}", style="{").format(record).split("\n")
    assert first.endswith(f"/salon/ [reference {reference}]")
    assert "no such table" in rest[-1]


def test_a_page_that_cannot_be_drawn_still_gives_the_reference(browser: Browser) -> None:
    with (
        mock.patch("salon.selectors.team", side_effect=OperationalError),
        mock.patch("salon.failures.render_to_string", side_effect=OSError),
    ):
        answer = browser.get("/salon/")

    assert re.fullmatch(r"Something went wrong. Reference: \w{8}", answer.text)
