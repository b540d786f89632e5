"""Two mixes side by side: any two, with what tells them apart."""

from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse

from tests.factories.consult import Story
from tests.typed import Answer

ALL = "roots,mid_lengths,ends"


@pytest.fixture
def signed(story: Story) -> Story:
    story.answer().read()
    story.choose()
    story.sign()
    return story


def _compare(tablet: Browser, story: Story, *mixes: str, zones: str = ALL) -> Answer:
    address = reverse("consult:compare", args=[story.visit.pk])
    return tablet.get(address, {"zones": zones, "mix": mixes})


def _offered(tablet: Browser, story: Story) -> list[str]:
    page = tablet.get(reverse("consult:formula", args=[story.visit.pk]))
    return [text for _code, text in page.context["offers"][0].comparable]


def test_two_suggestions_stand_side_by_side(signed: Story, tablet: Browser) -> None:
    first, second = _offered(tablet, signed)[:2]

    page = _compare(tablet, signed, first, second)

    one, other = page.context["sides"]
    assert [one.label, other.label] == ["Suggestion 1", "Suggestion 2"]
    grams = sum(weight for _name, weight in one.weights.grams)
    assert one.cost == pytest.approx(grams * Decimal("7.20") / 60)
    assert one.bowls_in_stock == min(300 // weight for _name, weight in one.weights.grams)
    assert abs(one.outcomes[0].warmth_off) <= abs(other.outcomes[0].warmth_off) + 10
    for words in ("Damp", "Difference from what was promised", "Bowls in stock"):
        assert page.text.count(words) >= 2


def test_one_s_own_mix_and_the_decided_one_are_named(signed: Story, tablet: Browser) -> None:
    (formula,) = signed.decide()
    decided = ",".join(
        f"{row.shade_id}:{row.parts.normalize():f}" for row in formula.lines.all()
    )
    own = f"{signed.visit.line.shades.get(name='clear').pk}:1"

    page = _compare(tablet, signed, decided, own)

    decided_side, own_side = page.context["sides"]
    assert decided_side.label == "The one in use"
    assert own_side.label == "Your own mix"
    assert own_side.strays
    assert page.text.count("Use this one") == 1


@pytest.mark.parametrize("mixes", [(), ("x",), ("1:1",), ("999999:1", "2:1"), ("1e9:1", "2:0")])
def test_nonsense_leads_back(signed: Story, tablet: Browser, mixes: tuple[str, ...]) -> None:
    response = _compare(tablet, signed, *mixes)

    assert response.status_code == 302
    assert response.headers["Location"].endswith("/formula/")


def test_a_part_that_is_not_signed_leads_back(signed: Story, tablet: Browser) -> None:
    first, second = _offered(tablet, signed)[:2]

    for zones in ("ends", "", "fringe"):
        assert _compare(tablet, signed, first, second, zones=zones).status_code == 302


def test_the_editor_offers_the_others(signed: Story, tablet: Browser) -> None:
    first, second = _offered(tablet, signed)[:2]
    address = reverse("consult:formula", args=[signed.visit.pk])

    page = tablet.get(address, {"zones": ALL, "parts": first, "source": "changed"})

    assert page.context["rivals"][0].text == second
    assert f"s2={second}" in page.text


def test_a_mix_with_a_shade_without_a_price_has_no_cost(signed: Story, tablet: Browser) -> None:
    first, second = _offered(tablet, signed)[:2]
    one = int(first.partition(":")[0])
    signed.visit.line.shades.filter(pk=one).update(tube_price=0)

    costs = [side.cost for side in _compare(tablet, signed, first, second).context["sides"]]

    assert costs[0] is None
    assert (costs[1] is None) == (f"{one}:" in second)
