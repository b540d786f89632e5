"""Peroxide on the formula page and the bench sheet: made from two bottles, refused over 12 %.

The dilution is textbook arithmetic (a weighted mean; 12 % and water 1:1 gives 6 %); the limit
is Regulation (EC) 1223/2009, Annex III, entry 12: 12 % in the ready-to-use preparation.
"""

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.urls import reverse

from consult import services
from consult.bench.recipes import as_text
from consult.models import BowlMixed, Formula
from formulas.mixing import MadeFrom, strength_after_mixing
from formulas.models import ProductLine
from tests.consult.bench.test_bench_posted import _post, _sheet
from tests.factories.consult import Story
from tests.typed import Answer

ALL = "roots,mid_lengths,ends"


@pytest.fixture
def signed(story: Story) -> Story:
    story.answer().read()
    story.choose()
    story.sign()
    return story


def _take(tablet: Browser, story: Story, percent: str) -> Answer:
    address = reverse("consult:formula", args=[story.visit.pk])
    offer = tablet.get(address).context["offers"][0]
    parts = {f"parts-{pk}": part for pk, part in offer.recipes[0].parts.items()}
    told = {"zones": ALL, "bowl_grams": "60", "minutes": "20", "developer_percent": percent}
    return _post(tablet, story, address, {**told, **parts})


def test_another_strength_is_kept_with_the_formula(signed: Story, tablet: Browser) -> None:
    assert _take(tablet, signed, "3").status_code == 302

    assert Formula.objects.get().developer_percent == 3


def test_the_developers_of_a_line_are_named_and_one_is_taken(
    signed: Story, tablet: Browser
) -> None:
    ProductLine.objects.update(further_developers=["4", "6.5"])
    address = reverse("consult:formula", args=[signed.visit.pk])
    offer = tablet.get(address).context["offers"][0]
    mix = as_text(offer.recipes[0].parts)

    page = tablet.get(address, {"zones": ALL, "parts": mix}).text

    assert "Developers of this line: 1.9 %, 4 %, 6.5 %" in " ".join(page.split())
    assert _take(tablet, signed, "6.5").status_code == 302
    formula = Formula.objects.get()
    assert formula.developer_percent == Decimal("6.5")
    # 6.5 % at 1:1.5 is 3.9 % in the ready mixture: the weighted mean.
    bowl = strength_after_mixing(formula.developer_percent, ratio=formula.developer_ratio)
    assert bowl == Decimal("3.9")


@pytest.mark.parametrize(
    ("percent", "why"), [("30", "entry 12"), ("13", "Dilute it first"), ("-1", ""), ("x", "")]
)
def test_too_strong_is_refused_beside_the_field(
    signed: Story, tablet: Browser, percent: str, why: str
) -> None:
    """30 % at 1:1.5 is 18 % ready; 13 % would be 7.8 %, but is no developer for a bowl."""
    response = _take(tablet, signed, percent)

    assert response.status_code == 422
    assert not Formula.objects.exists()
    assert why in " ".join(response.context["form"].errors["developer_percent"])


def test_the_sheet_says_what_to_pour_of_each_bottle(story: Story, tablet: Browser) -> None:
    formula = story.to_bench().visit.formulas.get()
    sheet = _sheet(formula, stock_percent="3.8", developer_grams="40")

    told = tablet.post(reverse("consult:rescale", args=[story.visit.pk]), sheet)

    half = Decimal(20)  # 3.8 % and water to 1.9 % is 1:1, of the 40 g that are typed
    assert told.status_code == 200
    dilution = told.context["sheet"].form.dilution
    assert (dilution.stronger_grams, dilution.weaker_grams) == (half, half)
    assert "water" in told.text
    assert "% peroxide in the mixture" in told.text


def test_both_bottles_are_on_record(story: Story, tablet: Browser) -> None:
    formula = story.to_bench().visit.formulas.get()
    sheet = _sheet(formula, stock_percent="6", thinner_percent="1", developer_grams="50")

    _post(tablet, story, reverse("consult:bench", args=[story.visit.pk]), sheet)

    bowl = BowlMixed.objects.get()
    assert (bowl.stock_grams, bowl.thinner_grams) == (Decimal("9.0"), Decimal("41.0"))
    assert "made from 9.0 g of 6 % and 41.0 g of 1 %" in tablet.get(
        reverse("consult:bench", args=[story.visit.pk])
    ).text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("stock", "thinner"), [("1.5", ""), ("3", "2"), ("2", "3"), ("70", "")]
)
def test_what_cannot_be_made_is_refused_beside_the_field(
    story: Story, tablet: Browser, stock: str, thinner: str
) -> None:
    sheet = _sheet(
        story.to_bench().visit.formulas.get(), stock_percent=stock, thinner_percent=thinner
    )

    page = _post(tablet, story, reverse("consult:bench", args=[story.visit.pk]), sheet)

    assert page.status_code == 422
    assert "stock_percent" in page.context["sheets"][0].form.errors
    assert not BowlMixed.objects.exists()


def test_the_database_wants_both_bottles_or_none(story: Story) -> None:
    formula = story.to_bench().visit.formulas.get()
    told = {
        "visit": story.visit, "formula": formula, "number": 1, "developer_grams": 40,
        "strength_percent": 1, "mixed_at": story.at, "mixed_by": story.by,
    }  # fmt: skip
    for wrong in (
        {"stock_percent": 6},
        {"stock_percent": 3, "thinner_percent": 3, "stock_grams": 20, "thinner_grams": 20},
        {"stock_percent": 6, "thinner_percent": 0, "stock_grams": -1, "thinner_grams": 41},
    ):
        with pytest.raises(IntegrityError, match="made_from_two"), transaction.atomic():
            BowlMixed.objects.create(**told, **wrong)


def test_the_service_refuses_too(story: Story) -> None:
    formula = story.to_bench().visit.formulas.get()

    with pytest.raises(services.BowlRefused, match="is not between"):
        services.mix_bowl(
            visit=story.visit,
            formula=formula,
            poured={line.shade_id: line.grams for line in formula.lines.all()},
            developer_grams=Decimal(40),
            made_from=MadeFrom(Decimal("1.5")),
            by=story.by,
            at=story.later(),
        )
