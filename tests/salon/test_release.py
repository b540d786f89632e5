"""A page that stays open hears of a newer release."""

from pathlib import Path

import pytest
from django.test import Client as Browser

from salon.models import Staff
from salon.release import HEADER, digest_of, release
from tests.typed import SignIn


@pytest.mark.django_db
def test_page_and_answers_name_the_same_release(client_for: SignIn, owner: Staff) -> None:
    answer = client_for(owner).get("/salon/")

    assert answer.headers[HEADER] == release()
    assert f'content="{release()}"' in answer.text


@pytest.mark.django_db
def test_nobody_else_is_told(client: Browser) -> None:
    answer = client.get("/sign-in/")

    assert HEADER not in answer.headers
    assert release() not in answer.text


@pytest.mark.parametrize(
    "changed",
    ["templates/a/b.html", "static/css/a.css", "static/js/a.js", "salon/locale/de/x.mo"],
)
def test_what_a_page_is_drawn_with_makes_a_release(tmp_path: Path, changed: str) -> None:
    file = tmp_path / changed
    file.parent.mkdir(parents=True)
    file.write_text("one")
    before = digest_of(tmp_path)
    assert digest_of(tmp_path) == before

    file.write_text("two")
    assert digest_of(tmp_path) != before
