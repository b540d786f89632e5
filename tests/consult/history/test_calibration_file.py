"""How often ranges hold: the page, its file and its paper say the same."""

import csv
import datetime as dt
import io
import re
from collections.abc import Callable

import pytest
from django.test import Client as Browser
from django.urls import reverse
from pypdf import PdfReader

from consult.history.range_claims import claims_of
from salon.models import Role, Salon, Staff
from tests.factories.history import ALL, Past
from tests.factories.salon import StaffFactory


@pytest.fixture
def laptop(client_for: Callable[[Staff], Browser], owner: Staff) -> Browser:
    return client_for(owner)


def test_claims_hold_as_the_normal_distribution_says() -> None:
    """Quantiles of the normal distribution: half within 0.6745, 95 % within 1.96."""
    inside = [0.0, 0.67, 0.68, 1.28, 1.29, 1.95, 1.97, 3.0]

    assert [(c.percent, c.inside, c.of) for c in claims_of(inside)] == [
        (50, 2, 8),
        (80, 4, 8),
        (95, 6, 8),
    ]


def test_page_file_and_paper_say_the_same_of_how_often_ranges_hold(
    salon: Salon, owner: Staff, now: dt.datetime, laptop: Browser
) -> None:
    stylist = StaffFactory(salon=salon, role=Role.STYLIST, has_column=True)
    past = Past(salon, owner, now)
    line = past.line("Tidepool")
    for n, seen in enumerate([(0.0, 0.0), (0.6, 3.0), (-0.9, 30.0), (2.5, -60.0), (0.3, 14.0)]):
        past.visit(past.client(f"C{n}"), line, stylist, days_ago=3 + n, seen={ALL: seen})

    page = laptop.get(reverse("consult:histories")).text
    section = page[page.index('id="ranges"') : page.index('id="fade"')]
    shown = re.findall(r"(\d+) of (\d+)", section)
    sent = laptop.post(reverse("consult:results_csv"), {"table": "ranges"}).content
    rows = list(csv.reader(io.StringIO(sent.decode("utf-8-sig"))))[1:]
    paper = laptop.post(reverse("consult:results_pdf")).content
    words = " ".join(p.extract_text() for p in PdfReader(io.BytesIO(paper)).pages)
    printed = words[words.index("How often ranges hold") :][:400]

    assert [row[0] for row in rows] == ["50", "80", "95"]
    assert [pair for row in rows for pair in ((row[1], row[2]), (row[3], row[4]))] == shown
    assert re.findall(r"(\d+) of (\d+)", printed)[:6] == shown
    assert all(of == "5" for _inside, of in shown)
    outside = laptop.get(
        reverse("consult:visit_list"), {"kind": "outside", "part": "95-depth"}
    ).text
    assert f"{5 - int(rows[2][1])} visit" in outside, "each figure opens its list"
    assert rows[0][1] != "5", "what is 2.5 levels off lies in no range"
