"""Help for beginners: the words, and each page's explanation."""

from salon.glossary import BY_KEY, ON_PAGE, TERMS
from salon.helps import HELPS
from salon.models import Staff
from tests.typed import SignIn


def test_every_word_stands_on_its_page_once(client_for: SignIn, receptionist: Staff) -> None:
    page = client_for(receptionist).get("/glossary/").text

    assert len(BY_KEY) == len(TERMS)
    for word in TERMS:
        assert page.count(f'id="{word.key}"') == 1
        assert str(word.meaning).split(",")[0].replace("'", "&#x27;") in page


def test_pages_name_words_that_exist() -> None:
    named = {key for keys in ON_PAGE.values() for key in keys}

    assert named <= set(BY_KEY)


def test_explanations_are_short() -> None:
    for one in HELPS.values():
        assert len(one.points) <= 3
