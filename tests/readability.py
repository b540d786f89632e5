"""How hard a text is to read: published formulas over the sentences of a page.

English: the Flesch-Kincaid grade level (Kincaid, Fishburne, Rogers and Chissom 1975,
"Derivation of new readability formulas", Naval Technical Training Command, report 8-75).
German: the first Wiener Sachtextformel (Bamberger and Vanecek 1984, "Lesen, Verstehen,
Lernen, Schreiben"). Both return a school year; children are 12 in year 6 and turn 13 in
year 7. Syllables come from pyphen's dictionaries of the patterns by which words are divided.
"""

import re
from collections.abc import Set
from dataclasses import dataclass
from functools import lru_cache
from html.parser import HTMLParser

import pyphen

# Within a line; anything else begins a text of its own.
INLINE = {"a", "abbr", "b", "bdi", "em", "i", "small", "span", "strong"}
SILENT = {"script", "style", "template", "svg", "title", "option"}
# A number before the full stop may be a German date's day.
END = re.compile(r"(?<=[.!?])(?<!\s\d\.)(?<!\s\d\d\.)\s+(?=[A-ZÄÖÜ„“\"])")
WORD = re.compile(r"[^\W\d_]+(?:['’-][^\W\d_]+)*|\d+(?:[.,]\d+)*")
EN_VOWELS = re.compile(r"[aeiouy]+")
# The e of "tone", "tones" and "signed", but not of "table", "changes" and "lifted".
EN_SILENT_END = re.compile(r"(?<![^aeiou]l)e$|(?<![^aeiou]l)(?<![cgshxz])es$|(?<![td])ed$")
DE_VOWELS = re.compile(r"[aeiouyäöü]")
# One sound spelt with two vowels; any other two in a row are two syllables.
DE_TOGETHER = re.compile(r"aa|ee|oo|ie|ei|ai|au|eu|äu|ey|ay")
SHORTEST = 3


@dataclass(frozen=True)
class Passage:
    """Sentences of one language, "en" or "de"."""

    language: str
    sentences: tuple[str, ...]

    @property
    def grade(self) -> float:
        """The school year in which it is understood."""
        words = [word for text in self.sentences for word in words_of(text)]
        rule = flesch_kincaid if self.language == "en" else wiener_sachtext
        return rule(words, len(self.sentences))

    def without(self, known: Set[str]) -> "Passage":
        """Return the passage less sentences that are measured elsewhere."""
        return Passage(
            self.language, tuple(text for text in self.sentences if text not in known)
        )

    def hardest(self, count: int = 5) -> list[tuple[float, str]]:
        """Return the sentences that are hardest to read, with their grades."""
        each = [
            (round(Passage(self.language, (text,)).grade, 1), text) for text in self.sentences
        ]
        return sorted(each, reverse=True)[:count]


def flesch_kincaid(words: list[str], sentences: int) -> float:
    """Return the grade level of an English text."""
    count = sum(syllables(word, "en") for word in words)
    return 0.39 * len(words) / sentences + 11.8 * count / len(words) - 15.59


def wiener_sachtext(words: list[str], sentences: int) -> float:
    """Return the school year of a German text, by the first of the four formulas."""
    counts = [syllables(word, "de") for word in words]
    many = 100 * sum(count >= 3 for count in counts) / len(words)
    single = 100 * sum(count == 1 for count in counts) / len(words)
    long = 100 * sum(len(word) > 6 for word in words) / len(words)
    length = len(words) / sentences
    return 0.1935 * many + 0.1672 * length + 0.1297 * long - 0.0327 * single - 0.875


def words_of(text: str) -> list[str]:
    """Return the words and numbers of a text."""
    return WORD.findall(text)


@lru_cache(maxsize=4096)
def syllables(word: str, language: str) -> int:
    """Return how many syllables a word has; a number has one for each of its signs.

    The dictionaries leave out divisions that a printer would not make ("o-ver", "ev-er-y"),
    so a word never has fewer than its groups of vowels that are spoken.
    """
    if word[0].isdigit():
        return len(word)
    return max(_divided(word, language), _vowel_groups(word.lower(), language), 1)


def _divided(word: str, language: str) -> int:
    """Count the pieces that can be spoken: pyphen makes three of "Farbe" ("Fa-r-be")."""
    vowels = EN_VOWELS if language == "en" else DE_VOWELS
    pieces = _dictionary(language).inserted(word, hyphen="|").lower().split("|")
    return sum(bool(vowels.search(piece)) for piece in pieces)


@lru_cache(maxsize=2)
def _dictionary(language: str) -> pyphen.Pyphen:
    return pyphen.Pyphen(lang={"en": "en_GB", "de": "de_DE"}[language])


def _vowel_groups(word: str, language: str) -> int:
    if language == "en":
        return len(EN_VOWELS.findall(EN_SILENT_END.sub("", word)))
    return len(DE_VOWELS.findall(DE_TOGETHER.sub("a", word)))


class _Texts(HTMLParser):
    """Collects the texts of a page, one for each block."""

    def __init__(self) -> None:
        super().__init__()
        self.texts = [""]
        self.silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.silent += tag in SILENT
        if tag not in INLINE:
            self.texts.append("")

    def handle_endtag(self, tag: str) -> None:
        self.silent -= tag in SILENT
        if tag not in INLINE:
            self.texts.append("")

    def handle_data(self, data: str) -> None:
        if not self.silent:
            self.texts[-1] += data


def passage(html: str, language: str) -> Passage:
    """Return the sentences of a page; labels, headings and names are none."""
    reader = _Texts()
    reader.feed(html)
    texts = [" ".join(text.split()) for text in reader.texts]
    sentences = [part for text in texts for part in END.split(text)]
    whole = [text for text in sentences if text[-1:] in {".", "!", "?"}]
    unlike = dict.fromkeys(text for text in whole if len(words_of(text)) >= SHORTEST)
    return Passage(language, tuple(unlike))
