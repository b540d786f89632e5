"""What English is left on a German page: every text against the catalogue's own sentences."""

import gettext
import re
from functools import lru_cache
from html.parser import HTMLParser

from django.conf import settings

from salon import languages

SPOKEN = {"aria-label", "aria-description", "title", "alt", "placeholder", "aria-valuetext"}
HOLES = re.compile(r"%\(\w+\)[sd]|%%|%[sd]|\{\w+\}")
LONG_ENOUGH = 12


VOID = {"area", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"}


class Reader(HTMLParser):
    """Collects what a reader sees or hears; names and marked foreign words left out."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []
        self.lang = ""
        self.open: list[bool] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "html":
            self.lang = told.get("lang") or ""
        foreign = told.get("lang") not in {None, "", self.lang}
        if not any(self.open):
            self.said += [v or "" for k, v in attrs if k in SPOKEN or k == "data-announce"]
        if tag not in VOID:
            self.open.append(foreign or tag in {"script", "style", "bdi"})

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID and self.open:
            self.open.pop()

    def handle_data(self, data: str) -> None:
        if not any(self.open):
            self.said.append(data)


def read(html: str) -> Reader:
    """Return a page as a reader meets it."""
    reader = Reader()
    reader.feed(html)
    return reader


@lru_cache(maxsize=1)
def _english() -> tuple[frozenset[str], tuple[str, ...]]:
    """Return the whole English texts, and the long pieces of those that name values."""
    path = settings.LOCALE_PATHS[0] / "de" / "LC_MESSAGES" / "django.mo"
    with path.open("rb") as file:
        catalogue = gettext.GNUTranslations(file)._catalog  # type: ignore[attr-defined]
    whole, pieces = set(), set()
    for key, german in catalogue.items():
        english = (key[0] if isinstance(key, tuple) else key).rpartition("\x04")[2]
        if not english or english.casefold() == german.casefold():
            continue
        if HOLES.search(english):
            pieces |= {
                part.strip()
                for part in HOLES.split(english)
                if len(part.strip()) >= LONG_ENOUGH
            }
        else:
            whole.add(" ".join(english.split()))
    whole -= {name for _code, name in languages.choices()}  # each by its own name
    whole -= {text for text in whole if text[0].isdigit()}  # shades: names that a salon gave
    pieces -= {piece for piece in pieces if not re.search(r"[a-z]{3} [a-z]{2}", piece)}
    return frozenset(whole), tuple(pieces)


def leftovers(html: str) -> list[str]:
    """Return the English sentences that a German page still says."""
    whole, pieces = _english()
    found = []
    for raw in read(html).said:
        text = " ".join(raw.split())
        if text in whole or text[:1].lower() + text[1:] in whole:
            found.append(text)
        else:
            found += [piece for piece in pieces if piece in text]
    return found
