"""The measure of what is easy to read, against published figures and dictionaries."""

import pytest

from tests import readability

PLATYPUS = "The Australian platypus is seemingly a hybrid of a mammal and reptilian creature."


def test_the_english_formula_gives_a_published_example() -> None:
    """Grade 11.3 with 24 syllables in 13 words, from memory: the encyclopedia's example."""
    words = readability.words_of(PLATYPUS)

    assert len(words) == 13
    assert sum(readability.syllables(word, "en") for word in words) == 24
    assert readability.Passage("en", (PLATYPUS,)).grade == pytest.approx(11.3, abs=0.05)


def test_the_german_formula_adds_up_its_four_shares() -> None:
    """No published example at hand: 2 sentences, 6 words worked out with the formula.

    Three of them have one syllable, one has three or more, two more than six letters.
    """
    passage = readability.Passage("de", ("Das Haar wirkt dunkler.", "Toner Gegenfarbe."))

    by_hand = 0.1935 * 100 / 6 + 0.1672 * 3 + 0.1297 * 200 / 6 - 0.0327 * 50 - 0.875
    assert passage.grade == pytest.approx(by_hand)


@pytest.mark.parametrize(
    ("language", "words"),
    [
        (
            "en",
            "cool 1, damp 1, tone 1, tones 1, signed 1, lifted 2, over 2, table 2, colour 2",
        ),
        ("en", "changes 2, about 2, deeper 2, natural 3, adding 2, reaction 3, prediction 3"),
        ("de", "Haar 1, Toner 2, Farbe 2, kühler 2, Tonhöhe 3, dunkler 2, Probesträhne 4"),
        ("de", "Reaktion 4, Verträglichkeitstest 5, Spülen 2, Abend 2, bleiben 2, heute 2"),
    ],
)
def test_words_have_as_many_syllables_as_dictionaries_give(language: str, words: str) -> None:
    """As Duden and the Oxford dictionary divide or speak them."""
    for entry in words.split(", "):
        word, count = entry.split()
        assert readability.syllables(word, language) == int(count), word


def test_sentences_are_taken_from_blocks_and_dates_kept_whole() -> None:
    html = (
        "<h1>Head</h1><p>It was <b>29. May</b> then. It is cool now.</p><style>A b c.</style>"
    )

    passage = readability.passage(html, "en")

    assert passage.sentences == ("It was 29. May then.", "It is cool now.")
