"""A printing process keeps nothing of what it has printed: N cards take no more than one."""

import ctypes
import gc
import re
from io import BytesIO
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from weasyprint import HTML
from weasyprint.text import line_break

from consult.models import Visit
from consult.paper import content, pdf
from salon.tools.subset_fonts import PLACE, PRINTED_WEIGHTS, print_face
from tests.factories.consult import Story

TEXT = PLACE / "source-sans-3"
# A sheet left 150 kB behind when its lines asked for figures, and leaves less than 2 now.
MOST_KB_A_SHEET = 15


@pytest.fixture
def closed(story: Story) -> Visit:
    return story.to_end(note="Held well")


@pytest.mark.parametrize("paper", [content.CARD, content.SMALL_CARD, content.SMALL_BENCH_CARD])
def test_no_line_asks_for_features_that_pango_would_keep(
    closed: Visit, monkeypatch: pytest.MonkeyPatch, paper: pdf.Paper
) -> None:
    """WeasyPrint gives each line that asks for some a list of attributes, and frees none."""
    asked: list[dict[str, int]] = []
    lines = 0
    given = line_break.font_features

    def noted(*how: object) -> dict[str, int]:
        nonlocal lines
        lines += 1
        features: dict[str, int] = given(*how)
        if features:
            asked.append(features)
        return features

    monkeypatch.setattr(line_break, "font_features", noted)
    context = content.bench_card(closed, address="https://salon.example/v/1")
    pdf.printed_paper(paper, context)

    assert lines > 20
    assert asked == []


def test_figures_of_every_weight_are_as_wide_as_each_other() -> None:
    """They come from the faces: amounts stand under each other."""
    digits = "0123456789"
    figures = "".join(f'<b style="font-weight: inherit">{digit}</b>' for digit in digits)
    lines = "".join(f'<p style="font-weight: {w}">{figures}</p>' for w in PRINTED_WEIGHTS)
    with pdf._press() as press:
        document = HTML(string=lines).render(
            stylesheets=[*press.styles.values()], font_config=press.fonts
        )
    boxes = [box for box in document.pages[0]._page_box.descendants() if box.element_tag == "b"]
    widths = [box.width for box in boxes if hasattr(box, "text")]

    assert len(widths) == len(digits) * len(PRINTED_WEIGHTS)
    for at in range(0, len(widths), len(digits)):
        assert max(widths[at : at + 10]) == pytest.approx(min(widths[at : at + 10]), abs=1e-3)


@pytest.mark.slow
@pytest.mark.parametrize("weight", PRINTED_WEIGHTS)
def test_printed_faces_are_those_of_the_screen(weight: int) -> None:
    made = BytesIO()
    print_face(TEXT / "latin.woff2", weight).save(made)
    kept, made_now = TTFont(TEXT / f"print-{weight}.woff2"), TTFont(made)

    assert kept["OS/2"].usWeightClass == weight
    assert kept.getGlyphOrder() == made_now.getGlyphOrder()
    assert kept["hmtx"].metrics == made_now["hmtx"].metrics
    for name in kept.getGlyphOrder():
        assert kept["glyf"][name] == made_now["glyf"][name]


def test_paper_asks_only_for_weights_that_it_has() -> None:
    styles = Path(pdf._path(pdf.FACES)).parent
    asked = {
        int(weight)
        for name in ("print.css", "card.css")
        for weight in re.findall(r"font-weight: (\d+)", (styles / name).read_text())
    }

    assert asked - {500} <= set(PRINTED_WEIGHTS)  # headings have one weight, 500


class _Allocated(ctypes.Structure):
    """What glibc's `mallinfo2` returns."""

    _fields_ = [
        (name, ctypes.c_size_t)
        for name in (
            "arena", "ordblks", "smblks", "hblks", "hblkhd", "usmblks", "fsmblks", "uordblks",
            "fordblks", "keepcost",
        )
    ]  # fmt: skip


def _kilobytes_in_use() -> float:
    """Return what is allocated and not given back, outside of Python's own small objects."""
    library = ctypes.CDLL(None)
    if not hasattr(library, "mallinfo2"):
        pytest.skip("only glibc 2.33 and later counts what is in use")
    library.mallinfo2.restype = _Allocated
    gc.collect()
    found = library.mallinfo2()
    return float(found.uordblks + found.hblkhd) / 1000


@pytest.mark.slow
def test_sheets_leave_no_memory_behind(closed: Visit) -> None:
    """Bytes in use, not the size of the process: that depends on how memory is cut up."""
    context = content.visit_card(closed)
    pdf._idle.clear()  # a press that other tests wore is not made again while this one counts
    for _ in range(5):
        pdf.printed_paper(content.SMALL_CARD, context)
    objects, before = len(gc.get_objects()), _kilobytes_in_use()
    sheets = 20
    for _ in range(sheets):
        pdf.printed_paper(content.SMALL_CARD, context)
    after = _kilobytes_in_use()

    assert (after - before) / sheets < MOST_KB_A_SHEET
    assert (len(gc.get_objects()) - objects) / sheets < 50
