"""Printed pages: a template in, one PDF out. The only place that knows WeasyPrint.

Styles and faces come from disk; nothing is fetched from anywhere. A page is set smaller, in
steps, until it is one side; only what fits at no size takes a second one. A small sheet that
flows keeps its size instead and runs over as many sides as it takes.
"""

import atexit
import base64
import io
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from django.contrib.staticfiles import finders
from django.http import HttpResponse
from django.template.loader import render_to_string

if TYPE_CHECKING:
    from weasyprint import Document

STYLES = ("css/print.css", "css/card.css")
FACES = "css/print-fonts.css"
SIZES = ("", "smaller", "smallest")
# Its map of faces remembers what it drew: after so many sheets it is made again.
MOST_SHEETS = 50
# Over the sheet's own page rule, which stands in card.css.
PAPERS = {"a4": "", "a6": "@page { size: A6; margin: 7mm 7mm 6mm; }"}


class DoesNotFit(ValueError):
    """Raised when a page does not fit its sheet at any size."""


@dataclass(frozen=True)
class Sheet:
    """A printed page."""

    content: bytes
    pages: int
    size: str


@dataclass(frozen=True)
class Paper:
    """A kind of printed page: its template, its size and how many sides it may take."""

    template: str
    size: str = "a4"
    sides: int = 1
    flows: bool = False
    # The size to begin with where it tells of several groups: nothing larger ever fits.
    crowded: str = ""


def printed_paper(paper: Paper, context: Mapping[str, object]) -> Sheet:
    """Return a kind of page as PDF."""
    if paper.flows:
        with _press() as press:
            flowing = {**context, "flows": True}
            document = press.drawn(paper.template, flowing, size="", paper=paper.size)
            return _sheet(document, size="")
    begins = paper.crowded if context.get("is_crowded") else ""
    return printed(paper.template, context, pages=paper.sides, paper=paper.size, begins=begins)


def answer(sheet: Sheet, name: str) -> HttpResponse:
    """Return a printed page as a response; the browser shows it under that name."""
    response = HttpResponse(sheet.content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response


def printed(
    template: str,
    context: Mapping[str, object],
    *,
    pages: int = 1,
    paper: str = "a4",
    begins: str = "",
) -> Sheet:
    """Return a template as PDF on at most `pages` sides, set smaller where it must be."""
    drawn: dict[str, Document] = {}
    sizes = SIZES[SIZES.index(begins) :]
    with _press() as press:
        # One side wherever a size does it; else as few as it takes, as large as they allow.
        for limit in range(1, pages + 1):
            for size in sizes:
                if size not in drawn:
                    drawn[size] = press.drawn(template, context, size=size, paper=paper)
                if len(drawn[size].pages) <= limit:
                    return _sheet(drawn[size], size=size)
    raise DoesNotFit(f"{template} does not fit on {pages} sides")


class _Press:
    """Faces and styles, read once: that takes longer than to lay out a sheet."""

    def __init__(self) -> None:
        # Imported late: it takes half a second and is needed on no screen.
        from weasyprint import CSS
        from weasyprint.text.fonts import FontConfiguration
        from weasyprint.urls import URLFetcher

        self.fetcher = URLFetcher(allowed_protocols=["data"], allow_redirects=False)
        self.fonts = FontConfiguration()
        self.sheets = 0
        self.styles, self.papers = (
            {
                name: CSS(string=text, font_config=self.fonts, url_fetcher=self.fetcher)
                for name, text in texts.items()
            }
            for texts in (_styles(), PAPERS)
        )

    def drawn(
        self, template: str, context: Mapping[str, object], *, size: str, paper: str
    ) -> "Document":
        """Return a template laid out on its paper at one size."""
        from weasyprint import HTML

        self.sheets += 1
        html = render_to_string(template, {**context, "size": size, "paper": paper})
        return HTML(string=html, url_fetcher=self.fetcher).render(
            stylesheets=[*self.styles.values(), self.papers[paper]], font_config=self.fonts
        )


# As many as ever printed at once. Their faces lie in folders that go with them: before the end.
_idle: list[_Press] = []
atexit.register(_idle.clear)


@contextmanager
def _press() -> Iterator[_Press]:
    """Lend a press to one thread at a time: Pango's map of faces is not shared."""
    try:
        press = _idle.pop()
    except IndexError:
        press = _Press()
    yield press
    if press.sheets < MOST_SHEETS:
        _idle.append(press)


def _sheet(document: "Document", *, size: str) -> Sheet:
    return Sheet(document.write_pdf(pdf_variant="pdf/ua-1"), len(document.pages), size)


_FACE = re.compile(r'url\("([^"]+\.woff2)"\) format\("woff2"\)')


@lru_cache(maxsize=1)
def _styles() -> dict[str, str]:
    """Return the style sheets by name, the faces with their files inside."""
    path = _path(FACES)

    def inside(found: re.Match[str]) -> str:
        data = base64.b64encode(_unpacked((path.parent / found[1]).resolve())).decode()
        return f'url("data:font/ttf;base64,{data}") format("truetype")'

    faces = _FACE.sub(inside, path.read_text())
    return {FACES: faces} | {name: _path(name).read_text() for name in STYLES}


def _unpacked(path: Path) -> bytes:
    """Return a packed face as it is set."""
    from fontTools.ttLib import woff2

    found = io.BytesIO()
    woff2.decompress(path, found)
    return found.getvalue()


def _path(name: str) -> Path:
    found = finders.find(name)
    if not found:
        raise FileNotFoundError(name)
    return Path(found)
