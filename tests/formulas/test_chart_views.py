"""The level chart: entries replaced and put back; colours that break it refused."""

import pytest
from django.test import Client as Browser

from formulas import selectors
from formulas.models import ChartEntry
from salon.models import Salon

ENTRY = {
    "level": "7.5", "kind": "warmth", "standing": "measured",
    "lightness": "51", "green_red": "12", "blue_yellow": "33",
}  # fmt: skip


def test_a_chart_entry_is_replaced_and_put_back(as_owner: Browser, salon: Salon) -> None:
    as_owner.post("/chart/replace/", ENTRY)
    page = as_owner.get("/chart/")
    assert "measured swatch" in page.text

    restored = as_owner.post("/chart/restore/", {"level": "7.5", "kind": "warmth"}, follow=True)
    assert "original colour is back" in restored.text

    latest = selectors.chart_entries(salon_id=salon.pk)
    assert [(entry.standing, entry.lightness) for entry in latest] == [("assumed", 50.25)]
    assert ChartEntry.objects.count() == 2


def test_a_colour_set_by_eye_says_so(as_owner: Browser) -> None:
    as_owner.post("/chart/replace/", {**ENTRY, "standing": "by_eye"})

    assert "set by eye" in as_owner.get("/chart/").text


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        ({"green_red": "5", "blue_yellow": "10"}, "warm side"),
        ({"lightness": "30"}, "lighter as the level rises"),
        ({"lightness": "101"}, "less than or equal to 100"),
        ({"level": "7.25"}, "Select a valid choice"),
        ({"kind": "grey"}, "Select a valid choice"),
        ({"green_red": "NaN"}, "Enter a number"),
        ({"blue_yellow": ""}, "required"),
    ],
)
def test_a_colour_that_breaks_the_chart_is_refused(
    as_owner: Browser, bad: dict[str, str], words: str
) -> None:
    page = as_owner.post("/chart/replace/", {**ENTRY, **bad})

    assert page.status_code == 422
    assert words in page.text
    assert not ChartEntry.objects.exists()
