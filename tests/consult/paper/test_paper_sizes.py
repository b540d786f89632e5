"""Every printed page at its size: sides, faces, margins, black and white, hard names.

The words' boxes come from poppler's `pdftotext -bbox`; A4 and A6 from ISO 216; contrast from
WCAG 2.2, success criterion 1.4.3.
"""

import datetime as dt
import io
import re
from decimal import Decimal
from pathlib import Path

import pytest
from django.template.loader import render_to_string
from django.test import Client as Browser
from django.urls import reverse
from pypdf import PdfReader

from clients.models import PatchOverride, PatchTest, Site
from consult.models import Visit
from consult.paper import content, pdf
from salon.models import AuditEvent, Salon, Staff
from tests.consult.paper.paper_checks import (
    UNBROKEN,
    boxes,
    check_that_it_flows,
    check_the_code,
)
from tests.consult.paper.test_cards import faces_inside
from tests.factories.consult import SIGNATURE, Story, opened, owner_of, stocked_line, zone
from tests.factories.preparation import hair_tested, lightened

POINTS = {"a4": (595.3, 841.9), "a6": (297.6, 419.5)}
ROOT = Path(__file__).resolve().parents[3]
ARABIC = "عبد الرحمن بن محمد الهاشمي القرشي البغدادي " * 3
HEBREW = "שמעון־אלחנן בן־יהודה הלוי הורוביץ " * 4
# The client's name, and that of the salon and the stylist.
NAMES = {
    "without a break": (UNBROKEN, UNBROKEN),
    "from right to left": (ARABIC.strip()[:120], HEBREW.strip()[:120]),
}


@pytest.fixture(params=NAMES)
def papers_of(
    request: pytest.FixtureRequest, salon: Salon, stylist: Staff, now: dt.datetime
) -> dict[str, tuple[pdf.Paper, dict[str, object]]]:
    """Each kind of page of a visit with the longest of everything, by what it is called."""
    name, house = NAMES[request.param]
    stylist.display_name = house[:80]
    stylist.save()
    salon.name, salon.address, salon.phone = house, house * 2, "+44 1174 960100"
    salon.address = salon.address[:200]
    salon.save()
    line = stocked_line(salon, by=stylist, at=now, name="L" * 80)
    story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=5), name=name)
    story.answer()
    for _n in range(3):
        lightened(story, product="P" * 120, uses_heat=True, heat_note="H" * 120, note="N" * 200)
    hair_tested(story, "strand", "as_predicted", note="T" * 200)
    story.read(
        roots=zone(lifted_level=Decimal("6.5"), note="B" * 200, banding="marked"),
        mid_lengths=zone(lifted_level=Decimal("7.5"), undertone=Decimal("0.6")),
        ends=zone(lifted_level=Decimal("8.5"), white_percent=40, porosity=Decimal(1)),
    )
    story.choose()
    signed = story.sign(signed_name=name, method="drawn", drawn=SIGNATURE)
    story.decide()
    visit = story.process().see(note="W" * 400, evenness="uneven").close()
    PatchOverride.objects.create(
        appointment=visit.appointment,
        reason="R" * 400,
        recorded_at=story.at,
        recorded_by=stylist,
    )
    test = PatchTest.objects.create(
        client=visit.client,
        line=line,
        site=Site.BEHIND_RIGHT_EAR,
        site_number=9,
        batch="9" * 40,
        applied_at=now,
        applied_by=stylist,
        recorded_at=now,
    )
    card = content.visit_card(Visit.objects.for_show().get(pk=visit.pk))
    address = f"https://a-very-long-salon-address.example/visits/{visit.pk}/"
    told = {
        "visit": (content.CARD, card),
        "small": (content.SMALL_CARD, card),
        "bench": (content.BENCH_CARD, content.bench_card(visit, address=address)),
        "small bench": (content.SMALL_BENCH_CARD, content.bench_card(visit, address=address)),
        "sign-off": (content.SIGN_OFF, content.sign_off_sheet(signed)),
        "small sign-off": (content.SMALL_SIGN_OFF, content.sign_off_sheet(signed)),
        "slip": (content.SLIP, content.patch_slip(test)),
    }
    # Every page once; where only the direction differs, those that the client takes home.
    kept = told if name == UNBROKEN else ("small", "slip", "small bench")
    return {key: told[key] for key in kept}


@pytest.mark.slow
def test_each_page_keeps_its_sides_and_its_margins(
    papers_of: dict[str, tuple[pdf.Paper, dict[str, object]]], tmp_path: Path
) -> None:
    for called, (paper, context) in papers_of.items():
        sheet = pdf.printed_paper(paper, context)

        reader = PdfReader(io.BytesIO(sheet.content))
        width, height = POINTS[paper.size]
        assert len(reader.pages) == sheet.pages, called
        assert paper.flows or sheet.pages <= paper.sides, called
        box = reader.pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx((width, height), abs=0.2)
        words = boxes(sheet.content)
        assert len(words) > 20, called
        edge = 14  # half of the narrowest margin, 7 mm, and a little for a glyph's own overhang
        for left, top, right, bottom in words:
            assert edge <= left <= right <= width - edge, (called, left, right)
            assert edge <= top <= bottom <= height - edge / 2, (called, top, bottom)
        inside = faces_inside(reader)
        assert len(inside) >= 2, called
        assert all(inside), called
        if called.removeprefix("small ") in papers_of and paper.flows:
            check_that_it_flows(sheet, papers_of[called.removeprefix("small ")][0], context)
        if called == "small bench":
            check_the_code(sheet, str(context["address"]), tmp_path)


def test_the_override_is_printed_on_both_cards(story: Story) -> None:
    visit = story.to_end()
    PatchOverride.objects.create(
        appointment=visit.appointment,
        reason="Known to us for years",
        recorded_at=story.at,
        recorded_by=owner_of(visit.salon),
    )
    visit = Visit.objects.for_show().get(pk=visit.pk)

    for template in (content.CARD.template, content.BENCH_CARD.template):
        page = render_to_string(
            template, content.bench_card(visit, address="https://a.example")
        )
        assert "Coloured without a valid skin test." in page
        assert "Known to us for years" in page


def test_steps_and_tests_stand_on_the_bench_card_and_in_plain_words_on_the_clients(
    story: Story,
) -> None:
    story.answer()
    lightened(story)
    hair_tested(story, "elasticity", "slow", zone="ends")
    story.read().choose()
    story.sign()
    story.decide()
    visit = story.process().see().close()

    bench = render_to_string("cards/bench.html", content.bench_card(visit, address="x"))
    small = render_to_string("cards/visit_small.html", content.visit_card(visit))

    for words in (
        "Blue powder",
        "4\u00a0% on the hair",
        "Reached level 8.5",
        "comes back slowly",
    ):
        assert words in bench
    assert "lightening (all of the hair)" in small
    assert "Blue powder" not in small


def test_no_page_tells_anything_by_colour_alone(story: Story) -> None:
    visit = story.to_end()
    signed = visit.sign_offs.get()
    pages = {
        content.CARD.template: content.visit_card(visit),
        content.SMALL_CARD.template: content.visit_card(visit),
        content.BENCH_CARD.template: content.bench_card(visit, address="x"),
        content.SIGN_OFF.template: content.sign_off_sheet(signed),
    }

    for template, context in pages.items():
        page = render_to_string(template, context)
        captions = re.findall(r"<figcaption>(.*?)</figcaption>", page, re.DOTALL)
        assert page.count("<figure>") == len(captions) >= 2, template
        assert all("level" in words or "deeper" in words for words in captions), template


def _luminance(colour: str) -> float:
    """Return WCAG's relative luminance of a colour as #rrggbb."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_print_is_grey_and_strong_enough() -> None:
    styles = "".join((ROOT / "static" / name).read_text() for name in pdf.STYLES)
    colours = set(re.findall(r"#[0-9a-f]{6}", styles))
    texts = set(re.findall(r"[^-]color: (#[0-9a-f]{6})", styles))

    assert all(len({one[1:3], one[3:5], one[5:7]}) == 1 for one in colours)
    white, booth = _luminance("#ffffff") + 0.05, _luminance("#969696") + 0.05
    for text in texts:
        assert white / (_luminance(text) + 0.05) >= 4.5, text
    assert booth / (_luminance("#0e0e0e") + 0.05) >= 4.5


def test_the_desk_prints_the_slip_and_another_salon_does_not(
    story: Story, tablet: Browser, other_salon: Salon, now: dt.datetime
) -> None:
    test = story.visit.client.patch_tests.get()

    response = tablet.get(reverse("consult:patch_slip_pdf", args=[test.pk]))

    page = PdfReader(io.BytesIO(response.content)).pages[0]
    text = " ".join(page.extract_text().split())
    for words in ("Behind the left ear", "batch B1", "see a doctor or pharmacist", "Phone:"):
        assert words in text
    assert response.headers["Cache-Control"] == "no-store"
    assert AuditEvent.objects.filter(kind="patch slip printed").count() == 1
    theirs = opened(other_salon, stylist=owner_of(other_salon), at=now)
    other = theirs.visit.client.patch_tests.get()
    assert tablet.get(reverse("consult:patch_slip_pdf", args=[other.pk])).status_code == 404


def test_every_paper_of_a_visit_is_offered_in_a6_too(story: Story, tablet: Browser) -> None:
    visit = story.to_end()
    signed = visit.sign_offs.get()
    page = tablet.get(reverse("consult:visit", args=[visit.pk])).text

    for name, args, words in (
        ("card_pdf", [visit.pk], "Dry, your hair looks about as dark as a natural level"),
        ("bench_card", [visit.pk], "Poured"),
        ("sign_off_pdf", [visit.pk, signed.pk], "Confirmed by the client"),
    ):
        address = reverse(f"consult:{name}", args=args)
        assert f'href="{address}?paper=a6"' in page
        response = tablet.get(address, {"paper": "a6"})
        reader = PdfReader(io.BytesIO(response.content))
        box = reader.pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx(POINTS["a6"], abs=0.2)
        text = " ".join(" ".join(one.extract_text() for one in reader.pages).split())
        assert words in text
    assert page.count("The same, small (PDF, A6)") == 3
