"""The bench card and the sign-off sheet: one page each, and true to their source."""

import datetime as dt
import io

import pytest
from django.test import Client as Browser
from django.urls import reverse
from pypdf import PdfReader

from consult.agreement.statement import VERSION
from consult.models import CardPrinted
from consult.paper import content as papers
from consult.paper import pdf
from salon.models import Salon
from tests.factories.consult import SIGNATURE, Story, opened, owner_of


@pytest.fixture
def drawn(story: Story) -> Story:
    story.answer().read()
    story.choose()
    story.sign(method="drawn", drawn=SIGNATURE)
    return story


def _text(content: bytes) -> str:
    reader = PdfReader(io.BytesIO(content))
    assert len(reader.pages) == 1
    return reader.pages[0].extract_text().replace("\u2068", "").replace("\u2069", "")


def test_the_bench_card_says_what_to_repeat(story: Story, tablet: Browser) -> None:
    visit = story.to_end(note="Rinsed cool")

    response = tablet.get(reverse("consult:bench_card", args=[visit.pk]))

    text = " ".join(_text(response.content).split())
    for line in visit.formulas.get().lines.all():
        assert line.shade.name in text
    assert "Rinsed cool" in text
    assert CardPrinted.objects.get().kind == "bench"


def test_the_code_leads_to_the_visit_and_asks_for_a_sign_in(story: Story) -> None:
    """ISO/IEC 18004: the code's own modules are compared with the library's for the address."""
    import segno

    address = f"http://testserver{reverse('consult:visit', args=[story.visit.pk])}"

    svg = papers.visit_code(address)

    assert svg == segno.make(address, error="m", micro=False).svg_inline(
        scale=3, border=4, title="QR code to the visit", light="#fff"
    )
    assert "<script" not in svg
    answer = Browser().get(address)
    assert answer.headers["Location"].startswith("/sign-in/")


def test_no_bench_card_before_a_formula(drawn: Story, tablet: Browser) -> None:
    response = tablet.get(reverse("consult:bench_card", args=[drawn.visit.pk]))

    assert response.status_code == 302
    assert not CardPrinted.objects.exists()


def test_the_sign_off_sheet_is_read_from_what_was_frozen(drawn: Story, tablet: Browser) -> None:
    signed = drawn.visit.sign_offs.get()
    drawn.visit.client.name = "Renamed Later"
    drawn.visit.client.save()

    response = tablet.get(reverse("consult:sign_off_pdf", args=[drawn.visit.pk, signed.pk]))

    text = _text(response.content).replace("\n", "")
    assert "Ada Brandt" in text
    assert "Renamed Later" not in text
    assert signed.digest in text.replace(" ", "")
    assert f"Wording {VERSION}" in text


def test_a_drawn_signature_is_drawn_again(drawn: Story) -> None:
    context = papers.sign_off_sheet(drawn.visit.sign_offs.get())

    assert str(context["stroke_path"]).startswith("M10 40L19 41")
    assert context["stroke_box"] == "6 36 107 10"
    assert pdf.printed("cards/sign_off.html", context).pages == 1


def test_another_salons_papers_are_not_there(
    tablet: Browser, other_salon: Salon, now: dt.datetime
) -> None:
    theirs = opened(
        other_salon, stylist=owner_of(other_salon), at=now - dt.timedelta(hours=1)
    ).to_bench()
    signed = theirs.visit.sign_offs.get()

    for name, args in (
        ("bench_card", [theirs.visit.pk]),
        ("sign_off_pdf", [theirs.visit.pk, signed.pk]),
    ):
        assert tablet.get(reverse(f"consult:{name}", args=args)).status_code == 404
        assert tablet.post(reverse(f"consult:{name}", args=args)).status_code == 405


def test_a_sign_off_of_another_visit_is_not_there(drawn: Story, tablet: Browser) -> None:
    address = reverse("consult:sign_off_pdf", args=[drawn.visit.pk, 10**9])

    assert tablet.get(address).status_code == 404
