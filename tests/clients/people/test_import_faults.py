"""What is uploaded as a client list and is none."""

import io
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser

from clients.models import ClientImport
from clients.people import csv_file
from salon.models import Staff
from tests.factories.photos import from_a_phone
from tests.typed import Answer, SignIn

MB = 1024 * 1024


@pytest.fixture
def boss(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


def _upload(boss: Browser, content: bytes) -> Answer:
    return boss.post(
        "/clients/imports/", {"file": SimpleUploadedFile("a\u202egnp.csv", content)}
    )


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"", "empty"),
        (b"\x00" * 999, "empty"),
        (b"MZ\x90\x00\x03" + bytes(range(256)) * 20, "not a list|no rows"),
        (b"name\n" + b"\x00\n" * 50, "no rows"),
        (b"\xff\xfea\x00\x00\xd8b", "cannot be read|no rows"),
        (b'name,email\n"' + b"x" * 200_000, "not a list"),
        (from_a_phone(), "not a list|no rows"),
    ],
    ids=["nothing", "NUL", "executable", "NUL rows", "half UTF-16", "endless cell", "photo"],
)  # fmt: skip
def test_a_file_that_is_no_list_leaves_nothing(
    boss: Browser, content: bytes, word: str
) -> None:
    answer = _upload(boss, content)

    if answer.status_code == 302:  # read as text, every row of it will be refused
        found = ClientImport.objects.get()
        assert "\x00" not in str(found.rows) + str(found.header)
        assert boss.get(answer.headers["Location"]).status_code == 200
    else:
        assert answer.status_code == 422
        assert any(one in answer.text for one in word.split("|")), answer.text[-1500:]
        assert not ClientImport.objects.exists()


def test_nul_inside_a_list_is_left_out(boss: Browser) -> None:
    assert _upload(boss, b"name,email\nI\x00da,ida@example.com\n").status_code == 302

    assert ClientImport.objects.get().rows == [[False, "Ida", "ida@example.com"]]


def test_sixty_megabytes_are_refused_unread(boss: Browser) -> None:
    class Unread(io.BytesIO):
        def read(self, *args: object) -> bytes:
            pytest.fail("read")

    unread: dict[str, Any] = {"wsgi.input": Unread()}

    answer = boss.generic(
        "POST", "/clients/imports/", b"", content_type="multipart/form-data; boundary=x",
        CONTENT_LENGTH=str(60 * MB), **unread,
    )  # fmt: skip

    assert answer.status_code == 413
    assert "25 MB" in answer.text


def test_a_list_of_some_megabytes_is_taken_and_one_past_the_limit_named(
    boss: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    wide = b"name,note\n" + b"Ida," + b"x" * 390 + b"\n"
    assert _upload(boss, wide * 15_000).status_code == 302

    monkeypatch.setattr(csv_file, "MOST_OCTETS", 1000)
    assert "larger than 25 MB" in _upload(boss, wide * 9).text
