"""One closed visit says its depth, warmth and range alike wherever it is shown."""

import io
import re
from decimal import Decimal
from html import unescape

import pytest
from django.test import Client as Browser
from django.urls import reverse
from pypdf import PdfReader

from consult.agreement.statement import one_decimal
from consult.history.error_words import in_words
from formulas import warmth_words
from formulas.snapshots import Prediction
from salon.models import Staff
from tests.factories.consult import Story
from tests.typed import SignIn, present


def _text(markup: str) -> str:
    main = markup[markup.index("<main") : markup.index("</main>")]
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", main)).split())


def _paper(browser: Browser, address: str) -> str:
    pages = PdfReader(io.BytesIO(browser.get(address).content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def _see(story: Story, *, deeper: float, warmer: int) -> Prediction:
    """Record a result that is that far off; return what it is compared with."""
    story.process()
    planned = story.visit.formulas.get().predicted
    predicted = planned[next(iter(planned))]
    story.see(
        level=Decimal(str(round(predicted["level"]["value"] - deeper, 1))),
        warmth_left_percent=round(predicted["warmth_left_percent"]["value"]) + warmer,
    )
    compared: Prediction = present(story.visit.results.first()).predicted or predicted
    return compared


def _pages(story: Story, laptop: Browser) -> dict[str, str]:
    """Return what each page and paper says of a visit, which is closed on the way."""
    visit = story.visit
    # The result page changes what is not closed yet; once it is, it leads to the visit.
    result = _text(laptop.get(reverse("consult:result", args=[visit.pk])).text)
    story.close()
    card = reverse("consult:card_pdf", args=[visit.pk])
    return {
        "result": result,
        "tones": _text(laptop.get(reverse("consult:tones", args=[visit.client_id])).text),
        "record": _text(laptop.get(reverse("consult:visit", args=[visit.pk])).text),
        "lists": _text(laptop.get(reverse("consult:histories")).text),
        "card": _paper(laptop, card),
        "small": _paper(laptop, f"{card}?paper=a6"),
    }


@pytest.mark.parametrize(
    ("off", "badge"), [((0.3, 4), "Within the range"), ((2.0, 40), "Outside the range")]
)
def test_depth_warmth_and_range_have_the_same_words_on_every_page(
    story: Story, owner: Staff, client_for: SignIn, off: tuple[float, int], badge: str
) -> None:
    predicted = _see(story.to_bench(), deeper=off[0], warmer=off[1])
    laptop = client_for(owner)
    pages = _pages(story, laptop)
    seen = present(story.visit.results.first())
    level, warmth = float(present(seen.level)), present(seen.warmth_left_percent)
    promised = present(present(story.visit.sign_offs.first()).choice.places.first()).predicted

    full = f"level {one_decimal(level)}, {warmth_words.in_full_of(predicted, warmth)}"
    short = warmth_words.short_of(predicted, warmth)
    signed = one_decimal(promised["level"]["value"])
    signed_full = f"as dark as level {signed}, {warmth_words.in_full_of(promised)}"
    depth_off = in_words(predicted["level"]["value"] - level, "depth")
    warmth_off = in_words(warmth - predicted["warmth_left_percent"]["value"], "warmth")
    said = {
        "record": [f"as dark as {full}", signed_full],
        "card": [f"as dark as {full}", f"Promised: {signed_full}."],
        "small": [f"as dark as a natural {full.replace(',', ':')}"],
        "tones": [f"level {one_decimal(level)}, {short}", depth_off, warmth_off, badge],
        "result": [f" {one_decimal(level)} ", f" {short} ", depth_off, warmth_off, badge],
        "lists": [f"{depth_off}, {warmth_off}"],
    }
    missing = {
        name: [words for words in every if words not in pages[name]]
        for name, every in said.items()
    }
    assert not any(missing.values()), missing
    asked = {"kind": "outside", "part": "95-depth"}
    outside = laptop.get(reverse("consult:visit_list"), asked).text
    listed = reverse("consult:visit", args=[story.visit.pk]) in outside
    assert listed == (badge == "Outside the range")
