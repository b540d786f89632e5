"""The page of the engine's explanation."""

import pytest
from django.test import Client as Browser

from formulas.models import ProductLine
from salon.models import Salon
from tests.factories.formulas import LineFactory, ShadeFactory
from tests.typed import Query

MIX: Query = {
    "lifted_level": "7.5", "undertone": "0", "white_percent": "0", "porosity": "0",
    "minutes": "20", "shade_1": "8 natural", "parts_1": "2",
    "shade_2": "8 strong violet-blue", "parts_2": "1",
}  # fmt: skip


def test_explanation_start_from_a_mix_and_show_everything(
    as_stylist: Browser, line: ProductLine
) -> None:
    page = as_stylist.get("/explanation/", {"line": line.pk})

    assert page.status_code == 200
    for words in (
        "Warmth left",
        "What changed the colour, and how much",
        "No mix can be here",
        "K/S",
    ):
        assert words in page.text


def test_explanation_answer_a_change_with_the_fragment_alone(
    as_stylist: Browser, line: ProductLine
) -> None:
    page = as_stylist.get(
        "/explanation/", {**MIX, "line": line.pk}, headers={"HX-Request": "true"}
    )

    assert page.status_code == 200
    assert page.text.strip().startswith('<div id="explanation"')
    assert "2 parts 8 natural, 1 part 8 strong violet-blue" in page.text
    assert "HX-Request" in page.headers["Vary"]


def test_an_empty_shelf_still_predicts_by_hand(as_stylist: Browser, salon: Salon) -> None:
    line = LineFactory(salon=salon)
    ShadeFactory(line=line, name="8 violet-blue", tones={"violet": 0.3, "blue": 0.3})

    page = as_stylist.get("/explanation/", {"line": line.pk})

    assert page.status_code == 200
    assert "Receive stock" in page.text


@pytest.mark.parametrize(
    "bad",
    [
        {"lifted_level": "11"}, {"lifted_level": "NaN"}, {"undertone": "2"},
        {"white_percent": "-1"}, {"porosity": "x"}, {"minutes": "0"}, {"parts_1": "-1"},
        {"shade_1": "8 unheard"}, {"shade_2": "8 natural"}, {"parts_1": "0", "parts_2": ""},
        {"parts_1": "1e300"},
    ],
)  # fmt: skip
def test_explanation_refuse_what_makes_no_sense(
    as_stylist: Browser, line: ProductLine, bad: dict[str, str]
) -> None:
    page = as_stylist.get(
        "/explanation/", {**MIX, "line": line.pk, **bad}, headers={"HX-Request": "true"}
    )

    assert page.status_code == 422
    assert "Not calculated" in page.text


@pytest.mark.parametrize("line_id", ["0", "999999", "x", "-1", "9" * 40, ""])
def test_explanation_of_a_line_that_is_not_there(
    as_stylist: Browser, line: ProductLine, line_id: str
) -> None:
    expected = 404 if line_id else 200

    assert as_stylist.get("/explanation/", {"line": line_id}).status_code == expected
