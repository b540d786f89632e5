"""Help for beginners: the words, and each page's explanation, put away for one person."""

import pytest

from salon.helps import HELPS
from salon.words import BY_KEY, ON_PAGE, WORDS


@pytest.fixture
def tablet(client_for, stylist):
    return client_for(stylist)


def test_every_word_stands_on_its_page_once(client_for, receptionist) -> None:
    page = client_for(receptionist).get("/words/").text

    assert len(BY_KEY) == len(WORDS)
    for word in WORDS:
        assert page.count(f'id="{word.key}"') == 1
        assert str(word.meaning).split(",")[0].replace("'", "&#x27;") in page


def test_pages_name_words_that_exist() -> None:
    named = {key for keys in ON_PAGE.values() for key in keys}

    assert named <= set(BY_KEY)


def test_help_is_put_away_for_one_person_and_comes_back(tablet, stylist, owner) -> None:
    gone = tablet.post("/help/choice/", {"shown": "0", "next": "/today/"})

    stylist.refresh_from_db()
    owner.refresh_from_db()
    assert gone.headers["Location"] == "/today/"
    assert stylist.helps_put_away == ["choice"]
    assert owner.helps_put_away == []
    tablet.post("/help/choice/", {"shown": "1"})
    stylist.refresh_from_db()
    assert stylist.helps_put_away == []


def test_put_away_twice_it_is_kept_once(tablet, stylist) -> None:
    for _ in range(2):
        tablet.post("/help/hair/", {"shown": "0"})

    stylist.refresh_from_db()
    assert stylist.helps_put_away == ["hair"]


def test_the_fragment_offers_the_way_back(tablet) -> None:
    answer = tablet.post("/help/visit/", {"shown": "0"}, headers={"HX-Request": "true"})

    assert "How this page works" in answer.text
    assert "<html" not in answer.text


def test_an_unknown_page_or_a_foreign_way_back_leads_nowhere(tablet) -> None:
    assert tablet.post("/help/nothing/", {}).status_code == 404
    answer = tablet.post("/help/visit/", {"next": "https://elsewhere.example/"})
    assert answer.headers["Location"] == "/"


def test_explanations_are_short() -> None:
    for one in HELPS.values():
        assert len(one.points) <= 3
