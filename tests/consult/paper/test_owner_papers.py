"""Repeat tones and the order list on paper: what the pages say, every face embedded."""

import datetime as dt
import io
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse
from pypdf import PdfReader

from consult.history.tendencies import Tendency
from consult.models import BowlLeftover, BowlMixed
from consult.templatetags.owner_tags import tendency_words
from formulas.models import ProductLine, Shade, ShelfBalance
from salon.models import Salon, Staff
from tests.consult.paper.paper_checks import boxes
from tests.consult.paper.test_cards import faces_inside
from tests.factories.consult import stocked_line
from tests.factories.history import Past


def _read(browser: Browser, address: str) -> PdfReader:
    answer = browser.get(address)
    assert answer.headers["Content-Type"] == "application/pdf"
    return PdfReader(io.BytesIO(answer.content))


def _words(reader: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


@pytest.fixture
def tablet(client_for: Callable[[Staff], Browser], stylist: Staff) -> Browser:
    return client_for(stylist)


def test_repeat_tones_are_printed_with_their_picture_table_and_mixes(
    salon: Salon, owner: Staff, stylist: Staff, now: dt.datetime, tablet: Browser
) -> None:
    past = Past(salon, owner, now)
    client = past.client("Ola Nordmann")
    for n in range(5):
        past.visit(client, past.line("Tidepool"), stylist, days_ago=10 + 35 * n)

    reader = _read(tablet, reverse("consult:tones_pdf", args=[client.pk]))

    words = _words(reader)
    assert "Ola Nordmann" in words
    assert "Colour visits: 5 visits" in words
    for said in ("Depth", "Warmth left", "5 wk", "promised, with the likely range that day"):
        assert said in words, "the picture is on the paper"
    assert words.count("8 natural 16.0 g") == 5, "each mix as poured"
    assert "As a table" not in words
    assert all(faces_inside(reader))


def test_a_client_without_visits_gets_a_page_that_says_so(
    salon: Salon, owner: Staff, now: dt.datetime, tablet: Browser
) -> None:
    client = Past(salon, owner, now).client("Ola Nordmann")

    reader = _read(tablet, reverse("consult:tones_pdf", args=[client.pk]))

    assert "No colour visits yet" in _words(reader)


def test_the_order_list_is_by_supplier_with_tubes_and_prices(
    salon: Salon, owner: Staff, now: dt.datetime, tablet: Browser
) -> None:
    for name, supplier in (("Tidepool", "Quay Supply"), ("Slatecliff", "")):
        line = stocked_line(salon, by=owner, at=now, name=name)
        ProductLine.objects.filter(pk=line.pk).update(supplier=supplier)
        ShelfBalance.objects.filter(shade__line=line, shade__name="9 violet").update(grams=5)
        ShelfBalance.objects.filter(shade__line=line, shade__name="clear").update(
            grams=Decimal(-3)
        )
    Shade.objects.filter(line__name="Tidepool", name="clear").update(tube_price=0)

    reader = _read(tablet, reverse("consult:order_list_pdf"))

    words = _words(reader)
    assert words.index("Quay Supply") < words.index("No supplier entered yet")
    first = words[: words.index("No supplier entered yet")]
    assert "4 tubes, 14.40 EUR · 1 shade without a price" in first
    assert "count it" in first
    assert "-3" not in words
    assert all(faces_inside(reader))


def test_with_nothing_to_order_the_list_says_so(
    salon: Salon, owner: Staff, now: dt.datetime, tablet: Browser
) -> None:
    stocked_line(salon, by=owner, at=now)

    reader = _read(tablet, reverse("consult:order_list_pdf"))

    assert "Every shade is above its level for ordering." in _words(reader)


@pytest.mark.slow
def test_nothing_of_a_times_results_runs_off_the_sheet(
    salon: Salon,
    owner: Staff,
    stylist: Staff,
    now: dt.datetime,
    client_for: Callable[[Staff], Browser],
) -> None:
    past = Past(salon, owner, now)
    stylist.display_name = "Maximiliane von Hohenlohe-Langenburg"
    stylist.save()
    client = past.client("Ola Nordmann")
    for n in range(10):
        past.visit(client, past.line("Tidepool"), stylist, days_ago=10 + 35 * n)
    for bowl in BowlMixed.objects.all():
        BowlLeftover.objects.create(bowl=bowl, grams=6, weighed_at=now, weighed_by=stylist)

    answer = client_for(owner).post(
        reverse("consult:results_pdf"),
        {"first": now.date() - dt.timedelta(days=365), "last": now.date()},
    )

    content = b"".join(answer) if answer.streaming else answer.content
    told = _words(PdfReader(io.BytesIO(content)))
    assert "weighed" in told
    found = boxes(content)
    assert max(right for _left, _top, right, _bottom in found) <= 595.3 - 28


@pytest.mark.parametrize(
    ("clients", "words"),
    [
        (1, "+0.30 (+0.10 to +0.50), n = 4, 1 client"),
        (2, "+0.30 (+0.10 to +0.50), n = 4, 2 clients"),
    ],
)
def test_a_mean_says_how_many_clients_it_rests_on(clients: int, words: str) -> None:
    mean = Tendency(0.3, 0.2 / 1.96, results=4, clients=clients, is_off=False)

    assert " ".join(tendency_words(mean, "depth").split()) == words
