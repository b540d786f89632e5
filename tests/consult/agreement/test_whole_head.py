"""One head, one choice: all parts follow one colour; the client reads words, not numbers."""

import json
import re
from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse

from consult.agreement import planning, whole_head
from consult.agreement.planning import field_name
from consult.bench import recipes
from consult.models import Place
from consult.selectors import readings_in_force
from formulas.head_suggestion import colour_difference
from formulas.selectors import shades_in_stock
from formulas.snapshots import Mix
from salon.drawing.colour import hex_to_lab
from tests.factories.consult import Story, zone
from tests.typed import Answer

LENGTHS = "mid_lengths,ends"


@pytest.fixture
def uneven(story: Story) -> Story:
    """Roots lifted to 7.5 and lengths to 9: two colours on one head."""
    return story.answer().read(
        roots=zone(lifted_level=Decimal("7.5")),
        mid_lengths=zone(lifted_level=Decimal("9.0")),
        ends=zone(lifted_level=Decimal("9.0")),
    )


def _page(tablet: Browser, story: Story) -> Answer:
    return tablet.get(reverse("consult:choice", args=[story.visit.pk]))


def _lab(mix: Mix) -> tuple[float, float, float]:
    return hex_to_lab(mix["hex"])


def _post(tablet: Browser, story: Story, **fields: str) -> Answer:
    story.visit.refresh_from_db()
    data = {"version": story.visit.version, **fields}
    return tablet.post(reverse("consult:choice", args=[story.visit.pk]), data)


def test_parts_follow_the_whole_and_end_alike(uneven: Story, tablet: Browser) -> None:
    page = _page(tablet, uneven)
    assert page.context["head"].tied
    assert re.search(r"data-tied\s+checked", page.text)

    aim = page.context["head"].value
    plans = planning.plans(uneven.visit, readings_in_force(uneven.visit), at=uneven.later())
    answer = _post(tablet, uneven, tied="1", head=aim)

    assert answer.status_code == 302
    choice = uneven.visit.choices.get()
    roots, lengths = choice.places.order_by("pk")
    labs = [place.predicted["dry_lab"] for place in (roots, lengths)]
    alone = [plan.nearest(float(aim)) for plan in plans.values()]
    largest = roots.shown["head"]["largest_difference"]
    assert colour_difference(*labs) <= 2 * largest + 0.1
    assert colour_difference(*labs) < colour_difference(*map(_lab, alone))
    for place in (roots, lengths):
        assert place.place == Place.BETWEEN
        head = place.shown["head"]
        assert head["warmth_left_percent"] == pytest.approx(float(aim), abs=0.06)
        assert head["held_by"] == "roots"
        assert "not be equally light" not in place.statement
    # The page opens where the client chose; the formula starts from that very mix.
    assert _page(tablet, uneven).context["head"].value == aim
    uneven.visit.refresh_from_db()
    signed = uneven.sign()
    assert json.loads(signed.snapshot)["places"][0]["shown"]["head"] == roots.shown["head"]
    offers = recipes.offers(
        uneven.visit,
        list(shades_in_stock(line=uneven.visit.line)),
        choice=uneven.facts.choice,
        readings=uneven.facts.readings,
        at=uneven.later(),
    )
    for offer, place in zip(offers, (roots, lengths), strict=True):
        first = offer.recipes[0]
        parts = {name: Decimal(str(part)) for name, part in place.shown["chosen"]["parts"]}
        names = {shade.pk: shade.name for shade in uneven.visit.line.shades.all()}
        assert {names[pk]: part for pk, part in first.parts.items()} == parts
        assert not first.strays


def test_an_untied_part_has_its_own_place_and_the_statement_says_what_differs(
    uneven: Story, tablet: Browser
) -> None:
    fields = {field_name("roots"): "60", field_name(LENGTHS): "60"}

    assert _post(tablet, uneven, **fields).status_code == 302

    places = list(uneven.visit.choices.get().places.all())
    assert all("head" not in place.shown for place in places)
    assert all("not be equally light" in place.statement for place in places)
    page = _page(tablet, uneven)
    assert not page.context["head"].tied
    assert not re.search(r"data-tied\s+checked", page.text)


@pytest.mark.parametrize(
    "fields", [{"tied": "1"}, {"tied": "1", "head": "x"}, {field_name("roots"): "60"}]
)
def test_a_missing_place_is_refused_with_a_request_for_it(
    uneven: Story, tablet: Browser, fields: dict[str, str]
) -> None:
    assert _post(tablet, uneven, **fields).status_code == 422
    assert not uneven.visit.choices.exists()


def test_the_client_reads_three_sentences_without_a_number(
    uneven: Story, tablet: Browser
) -> None:
    plans = planning.plans(uneven.visit, readings_in_force(uneven.visit), at=uneven.later())
    plan = planning.whole_head(uneven.visit, plans)
    said = [whole_head.sentences(plan, place) for place in plan.places]

    assert {len(lines) for lines in said} == {3}
    words = " ".join(line for lines in said for line in lines).replace("mid-lengths", "")
    assert not re.search(r"[\d%−-]", words)
    assert list(dict.fromkeys(lines[0] for lines in said)) == [
        "Most of the warmth is left.",
        "About half of the warmth is left.",
        "A little of the warmth is left.",
    ]
    assert "the parts cannot look quite the same" in words  # a shelf of few shades
    # Cooler along the line: the sentence on depth never gets lighter.
    deeper = [place.levels_deeper_looks for place in plan.places]
    assert deeper[-1] > deeper[0]


def test_a_head_that_reads_alike_keeps_its_own_line(story: Story, tablet: Browser) -> None:
    story.answer().read()
    page = _page(tablet, story)
    head = page.context["head"]
    mixes = page.context["groups"][0].curve["mixes"]

    assert head.is_single
    # Behind the press: the line of this chart with the range that it lies in.
    curve = page.context["groups"][0].curve
    assert "data-limit-band" in page.text
    assert "The thick line is the limit of this chart." in page.text
    for (warmth, deeper), (at, low, high) in zip(
        curve["limit"], curve["limit_band"], strict=True
    ):
        assert warmth == pytest.approx(at, abs=0.01)
        assert low <= deeper + 0.001
        assert deeper <= high + 0.001
    assert len(head.island["places"]) == len(mixes)
    assert "data-tied" not in page.text
    assert _post(tablet, story, tied="1", head=head.value).status_code == 302
    (place,) = story.visit.choices.get().places.all()
    assert place.warmth_aim_percent == pytest.approx(float(head.value), abs=0.06)
    pairs = [tuple(pair) for pair in place.shown["chosen"]["parts"]]
    assert pairs == head.place.zones[place.zones]["parts"]
