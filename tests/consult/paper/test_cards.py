"""The visit card: one sheet, every face embedded, whatever the names and notes."""

import datetime as dt
import io
import re
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from consult.models import CardPrinted, HairFacts, Visit
from consult.paper import content as papers
from consult.paper import pdf
from consult.templatetags.consult_tags import hair_words
from salon.models import Salon, Staff
from tests.factories.consult import Story, opened, stocked_line, zone
from tests.typed import SignIn

LONGEST = "Wolfeschlegelsteinhausenbergerdorff-" * 3 + "Beaumont"
A4_POINTS = (595, 842)


def _read(content: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(content))


def faces_inside(reader: PdfReader) -> list[bool]:
    """Return, for each face of the document, whether its file is inside."""
    inside = []
    for page in reader.pages:
        resources = page["/Resources"]
        assert isinstance(resources, DictionaryObject)
        for font in resources.get("/Font", DictionaryObject()).values():
            (descendant,) = font.get_object()["/DescendantFonts"]
            descriptor = descendant.get_object()["/FontDescriptor"].get_object()
            inside.append(
                any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
            )
    return inside


@pytest.fixture
def closed(story: Story) -> Visit:
    return story.to_end(note="Held well")


@pytest.fixture
def fullest(salon: Salon, stylist: Staff, now: dt.datetime) -> Visit:
    """Three groups of zones, the longest names, notes as long as they may be."""
    stylist.display_name = "Ö" * 80
    stylist.save()
    salon.name, salon.address = "S" * 120, "An address " * 18
    salon.save()
    line = stocked_line(salon, by=stylist, at=now, name="L" * 80)
    line.shades.update(tube_price=Decimal(9))
    story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=3), name=LONGEST[:120])
    story.answer().read(
        roots=zone(lifted_level=Decimal("6.5")),
        mid_lengths=zone(lifted_level=Decimal("7.5"), undertone=Decimal("0.6")),
        ends=zone(lifted_level=Decimal("8.5"), white_percent=40, porosity=Decimal(1)),
    )
    story.choose()
    story.sign()
    story.decide()
    return story.process().see(note="W" * 400, evenness="uneven").close()


def test_the_card_is_one_sheet_with_its_faces_inside(closed: Visit) -> None:
    sheet = pdf.printed("cards/visit.html", papers.visit_card(closed))

    reader = _read(sheet.content)
    assert sheet.content.startswith(b"%PDF")
    assert len(reader.pages) == 1
    box = reader.pages[0].mediabox
    assert (round(box.width), round(box.height)) == A4_POINTS
    faces = faces_inside(reader)
    assert len(faces) >= 2
    assert all(faces)


def test_the_card_carries_what_the_next_stylist_needs(closed: Visit) -> None:
    text = (
        _read(pdf.printed("cards/visit.html", papers.visit_card(closed)).content)
        .pages[0]
        .extract_text()
    )

    formula = closed.formulas.get()
    for line in formula.lines.all():
        assert line.shade.name in text
    for words in (closed.client.name, closed.line.name, "Developer", "20 min", "Held well"):
        assert words in text
    assert "doctor or pharmacist" in text
    assert "strand test decides" in text


@pytest.mark.slow
def test_the_fullest_card_is_still_one_sheet(fullest: Visit) -> None:
    sheet = pdf.printed("cards/visit.html", papers.visit_card(fullest))

    reader = _read(sheet.content)
    text = reader.pages[0].extract_text().replace("\n", "")
    assert sheet.pages == len(reader.pages) == 1
    assert sheet.size in {"smaller", "smallest"}
    assert text.count("W") >= 3 * 400
    assert all(faces_inside(reader))


@pytest.mark.slow
def test_nothing_on_the_fullest_card_runs_off_the_sheet(fullest: Visit) -> None:
    """Every run of text begins within the margins; long words break instead."""
    reader = _read(pdf.printed("cards/visit.html", papers.visit_card(fullest)).content)
    places: list[float] = []

    def note(text: str, cm: list[float], tm: list[float], _font: object, size: float) -> None:
        if text.strip():
            places.append(tm[4] * cm[0] + cm[4])

    reader.pages[0].extract_text(visitor_text=note)

    assert places
    assert min(places) >= 0
    assert max(places) <= A4_POINTS[0]


@pytest.mark.parametrize("name", ["Ελένη Παπαδοπούλου", "Дарина Коваленко", "Đặng Thị Khuê"])
def test_other_scripts_print_as_they_are_written(
    salon: Salon, stylist: Staff, now: dt.datetime, name: str
) -> None:
    visit = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=3), name=name).to_end()

    reader = _read(pdf.printed("cards/visit.html", papers.visit_card(visit)).content)

    assert name in reader.pages[0].extract_text().replace("\u2068", "").replace("\u2069", "")


def test_a_page_that_fits_at_no_size_says_so(closed: Visit) -> None:
    context = papers.visit_card(closed)
    with pytest.raises(pdf.DoesNotFit):
        pdf.printed("cards/visit.html", context, pages=0)


def test_printing_is_recorded_and_the_desk_may_print(
    closed: Visit, receptionist: Staff, client_for: SignIn
) -> None:
    response = client_for(receptionist).get(reverse("consult:card_pdf", args=[closed.pk]))

    assert response.status_code == 200
    assert response.headers["Content-Type"] == "application/pdf"
    assert response.headers["Cache-Control"] == "no-store"
    printed = CardPrinted.objects.get()
    assert (printed.visit, printed.printed_by, printed.kind) == (closed, receptionist, "visit")


def test_an_open_visit_has_no_card_yet(story: Story, tablet: Browser) -> None:
    response = tablet.get(reverse("consult:card_pdf", args=[story.visit.pk]))

    assert response.status_code == 302
    assert not CardPrinted.objects.exists()


def test_a_card_that_is_crowded_skips_the_size_that_never_fits(
    fullest: Visit, closed: Visit, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each size that is tried costs as much as the one that is kept."""
    tried: list[str] = []
    drawn = pdf._Press.drawn

    def noted(press: pdf._Press, *args: Any, size: str, paper: str) -> Any:
        tried.append(size)
        return drawn(press, *args, size=size, paper=paper)

    monkeypatch.setattr(pdf._Press, "drawn", noted)

    of_one_group, of_several = (
        {
            papers.SMALL_CARD: papers.visit_card(visit),
            papers.SIGN_OFF: papers.sign_off_sheet(visit.sign_offs.get()),
        }
        for visit in (closed, fullest)
    )
    for paper in (papers.SMALL_CARD, papers.SIGN_OFF):
        tried.clear()
        pdf.printed_paper(paper, of_one_group[paper])
        assert tried[0] == ""
        tried.clear()
        pdf.printed_paper(paper, of_several[paper])
        assert tried[0] == "smaller"


def test_the_strands_of_a_signed_sheet_say_what_its_statement_says(fullest: Visit) -> None:
    sheet = pdf.printed_paper(papers.SIGN_OFF, papers.sign_off_sheet(fullest.sign_offs.get()))
    (page,) = _read(sheet.content).pages
    words = " ".join(page.extract_text().split())

    stated = re.findall(r"look about (\S+) levels deeper than now", words)
    damp = re.findall(r"another (\S+) levels deeper", words)
    assert len(stated) == len(damp) == 3
    for deeper, deeper_still in zip(stated, damp, strict=True):
        assert f"{deeper} deeper than now" in words
        assert f"another {deeper_still} deeper" in words
    assert not re.search(r"Dry level \d", words)


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        ({}, ""),
        ({"length": "shoulder"}, "Length to the shoulder."),
        ({"texture": "fine", "length": "short"}, "Texture fine, length short."),
        (
            {"texture": "coarse", "density": "normal", "length": "short"},
            "Texture coarse, density normal, length short.",
        ),
    ],
)
def test_a_card_says_of_the_head_only_what_was_seen(seen: dict[str, str], words: str) -> None:
    assert hair_words(HairFacts(**seen)) == words
    assert hair_words(None) == ""
