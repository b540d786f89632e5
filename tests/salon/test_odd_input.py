"""What is sent to the ground floor's pages and makes no sense."""

import pytest
from django.test import Client as Browser
from django.urls import reverse

from salon.models import Staff
from tests.typed import SignIn


@pytest.mark.django_db
@pytest.mark.parametrize("back", ["²", "x", "//elsewhere.example/", "a\x00b", "9" * 5000])
def test_another_language_leads_back_to_a_page_of_this_site(back: str) -> None:
    answer = Browser().post(reverse("salon:language"), {"language": "de", "next": back})

    assert answer.status_code == 302
    assert answer.headers["Location"] == "/"


def test_a_search_for_what_no_database_takes_finds_nobody(
    client_for: SignIn, receptionist: Staff
) -> None:
    """PostgreSQL refuses NUL in text (its manual, 8.3); SQLite takes it."""
    for text in ("a\x00b", "\x00", "a\x00@b", "07\x0011"):
        assert client_for(receptionist).get("/clients/", {"q": text}).status_code == 200
