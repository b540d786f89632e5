"""What a printed page is measured with: poppler's words and pictures, pypdf's sizes of type."""

import html
import io
import re
import subprocess
from pathlib import Path

import pytest
import segno
from django.template.loader import render_to_string
from PIL import Image
from pypdf import PdfReader

from consult.paper import pdf

UNBROKEN = "Wolfeschlegelsteinhausenbergerdorff" * 3


def boxes(content: bytes) -> list[tuple[float, float, float, float]]:
    """Return every word's box in points, by poppler."""
    told = subprocess.run(
        ["pdftotext", "-bbox", "-", "-"],  # noqa: S607
        input=content,
        capture_output=True,
        check=True,
    ).stdout.decode()
    found = re.findall(
        r'xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)"', told
    )
    return [tuple(float(edge) for edge in box) for box in found]  # type: ignore[misc]


def words_of(sheet: pdf.Sheet) -> str:
    """Return the words of a sheet, each run of blanks as one, a broken word as one."""
    told = subprocess.run(
        ["pdftotext", "-raw", "-", "-"],  # noqa: S607
        input=sheet.content,
        capture_output=True,
        check=True,
    ).stdout.decode()
    told = re.sub(r"-\n", "-", re.sub("[\u2066-\u2069]", "", told))
    return re.sub(r"\s+", " ", told)


def _text(content: bytes, *options: str) -> str:
    """Return a PDF's text by poppler, without blanks and direction marks."""
    told = subprocess.run(
        ["pdftotext", "-raw", *options, "-", "-"],  # noqa: S607
        input=content,
        capture_output=True,
        check=True,
    ).stdout.decode()
    return re.sub(r"[\s\u2066-\u2069]", "", told)


def _pieces(page: str) -> set[str]:
    """Return a printed page's words, cut at its tags, without blanks and direction marks."""
    body = re.sub(r"(?s)<svg.*?</svg>", "", page[page.index("<body") :])
    pieces = re.split(r"<[^>]*>", html.unescape(body))
    return {re.sub(r"[\s\u2066-\u2069]", "", piece) for piece in pieces} - {""}


def _type_sizes(reader: PdfReader) -> set[float]:
    """Return every size of type that is set on a document's pages, in points."""
    sizes: set[float] = set()

    def note(text: str, cm: list[float], tm: list[float], _font: object, size: float) -> None:
        if text.strip():
            sizes.add(round(abs(size * tm[3] * cm[3]), 2))

    for page in reader.pages:
        page.extract_text(visitor_text=note)
    return sizes


def check_that_it_flows(sheet: pdf.Sheet, large: pdf.Paper, context: dict[str, object]) -> None:
    """Every line of the large sheet, on pages that say whose they are, in legible type."""
    assert sheet.pages > 1
    for number in range(1, sheet.pages + 1):
        only = ["-f", str(number), "-l", str(number)]
        foot = _text(sheet.content, *only, *_cut(380, 40))
        assert f"{number}/{sheet.pages}" in foot
        assert UNBROKEN[:40] in foot
    assert min(_type_sizes(PdfReader(io.BytesIO(sheet.content)))) >= 7.5
    told = _text(sheet.content, *_cut(0, 380))
    pieces = _pieces(render_to_string(large.template, context))
    assert len(pieces) > 30
    # The column of notes has no head where each note has a row of its own.
    assert {piece for piece in pieces if piece not in told} <= {"Note"}


def _cut(top: int, height: int) -> list[str]:
    """Return how poppler is told to read a part of an A6 sheet; 14 mm of it are its foot."""
    return ["-x", "0", "-y", str(top), "-W", "298", "-H", str(height)]


def check_the_code(sheet: pdf.Sheet, address: str, folder: Path) -> None:
    """Drawn by poppler, every module lies where ISO/IEC 18004 has it, on 20 mm or more."""
    (folder / "card.pdf").write_bytes(sheet.content)
    drawing = ["-r", "300", "-gray", "-singlefile", "-png", "card.pdf", "card"]
    subprocess.run(["pdftoppm", *drawing], cwd=folder, check=True)  # noqa: S607
    with Image.open(folder / "card.png") as page:
        # Right of the names, above the head's double rule.
        place = (round(page.width * 0.66), 0, page.width, round(page.height * 0.23))
        dark = page.convert("L").crop(place).point(lambda grey: 255 if grey < 128 else 0)
    box = dark.getbbox()
    assert box is not None
    code = dark.crop(box)
    assert code.width == pytest.approx(code.height, abs=2)
    assert code.width / 300 * 25.4 >= 20
    modules = [list(row) for row in segno.make(address, error="m", micro=False).matrix]
    module = code.width / len(modules)
    for y, row in enumerate(modules):
        for x, is_dark in enumerate(row):
            middle = (int((x + 0.5) * module), int((y + 0.5) * module))
            assert (code.getpixel(middle) == 255) == bool(is_dark), (x, y)
