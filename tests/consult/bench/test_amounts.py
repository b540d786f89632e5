"""Amounts from the hair to the card: what is carried over, what is weighed, in which order.

How much a bowl holds by default is common practice, no source; see
tests/formulas/test_bowl_amounts.py.
"""

import re
from decimal import Decimal
from html import unescape
from typing import Unpack

import pytest
from django.template.loader import render_to_string
from django.test import Client as Browser
from django.urls import reverse

from consult import selectors, services
from consult.bench import starting_values
from consult.hair.reading_fields import FactsRead
from consult.paper import content
from formulas import services as formulary
from formulas.mixing_rules import rules_in_force
from formulas.models import MixingRules
from tests.factories.consult import Story, head, opened, owner_of

ALL = "roots,mid_lengths,ends"
SHOULDER: FactsRead = {"length": "shoulder", "density": "normal"}


def _read(story: Story, **facts: Unpack[FactsRead]) -> None:
    services.read_hair(
        visit=story.visit, readings=head(), facts=facts, by=story.by, at=story.later()
    )


def _to_bench(story: Story) -> Story:
    story.choose(35)
    story.sign()
    story.decide()
    return story


def _rules(story: Story, **changes: object) -> None:
    owner = owner_of(story.visit.salon)
    fields = [
        f.name for f in MixingRules._meta.fields
        if f.name not in {"id", "salon", "number", "recorded_at", "recorded_by"}
    ]  # fmt: skip
    known = {name: getattr(rules_in_force(salon=story.visit.salon), name) for name in fields}
    formulary.revise_mixing_rules(by=owner, at=story.later(), **{**known, **changes})


@pytest.mark.parametrize(
    ("today", "is_kept"),
    [
        (SHOULDER, True),
        ({**SHOULDER, "length": "long"}, False),
        ({**SHOULDER, "density": "thick"}, False),
    ],
)
def test_the_last_bowl_counts_only_where_the_hair_is_the_same(
    story: Story, today: FactsRead, is_kept: bool
) -> None:
    """60 g were mixed last time; the table says 80 g, 110 g for long hair, 104 g for thick."""
    story.answer()
    _read(story, **SHOULDER)
    _to_bench(story).process().see().close()
    again = opened(story.visit.salon, stylist=story.by, at=story.later(60)).answer()
    _read(again, **today)

    facts = selectors.facts_in_force(again.visit)
    grams, from_last = starting_values.bowl_grams(again.visit, ALL, facts)

    assert from_last is is_kept
    assert (abs(grams - 60) < 1) is is_kept
    assert is_kept or grams > 80


def test_no_suggestion_asks_for_less_than_the_least_and_it_says_why(
    story: Story, tablet: Browser
) -> None:
    """Last time 4.8 g of a shade were mixed; with seven grams as the least the bowl grows."""
    smallest = min(line.grams for line in story.to_bench(45).visit.formulas.get().lines.all())
    assert smallest < 7
    story.process().see().close()
    _rules(story, least_grams=Decimal(7))
    again = opened(story.visit.salon, stylist=story.by, at=story.later(60)).answer().read()
    again.choose(45)
    again.sign()

    page = tablet.get(reverse("consult:formula", args=[again.visit.pk]))

    (offer,) = page.context["offers"]
    assert offer.again is not None
    assert offer.again.is_grown
    shown = [offer.again, *offer.recipes]
    assert all(grams >= 7 for one in shown for _name, grams in one.weights.grams)
    assert page.text.count("so that every shade can be weighed") == sum(
        one.is_grown for one in shown
    )


@pytest.mark.parametrize(
    ("step", "held"), [("0.1", "0.5 1"), ("0.5", "1"), ("1", "5")]
)  # fmt: skip
def test_weights_go_by_the_steps_of_the_salon_s_scale(
    story: Story, tablet: Browser, step: str, held: str
) -> None:
    _rules(story, scale_step=step)
    story.to_bench(aim=35)

    page = tablet.get(reverse("consult:bench", args=[story.visit.pk])).text

    fields = re.findall(r"<input[^>]*name=\"(?:poured-\d+|developer_grams)\"[^>]*>", page)
    assert len(fields) == story.visit.formulas.get().lines.count() + 1
    for field in fields:
        assert f'data-step="{step}"' in field
        assert f'data-held="{held}"' in field


def test_shades_keep_one_order_from_the_formula_to_the_card(
    story: Story, tablet: Browser
) -> None:
    """The shelf's, whichever order they are posted or poured in."""
    _read(story.answer(), **SHOULDER)
    story.choose(35)
    story.sign()
    place = story.visit.choices.get().places.get()
    shelf = list(
        story.visit.line.shades.filter(
            name__in=[name for name, _part in place.shown["chosen"]["parts"]]
        ).values_list("name", flat=True)
    )
    assert len(shelf) >= 2
    ids = {shade.name: shade.pk for shade in story.visit.line.shades.all()}
    parts = {ids[n]: Decimal(str(part)) for n, part in place.shown["chosen"]["parts"]}
    formula = services.decide_formula(
        visit=story.visit, zones_key=ALL, parts=dict(reversed(parts.items())), source="own",
        bowl_grams=Decimal(60), by=story.by, at=story.later(),
    )  # fmt: skip
    offers = tablet.get(reverse("consult:formula", args=[story.visit.pk])).context["offers"]
    sheet = tablet.get(reverse("consult:bench", args=[story.visit.pk])).text
    poured = {line.shade_id: line.grams for line in formula.lines.all()}
    bowl = services.mix_bowl(
        visit=story.visit, formula=formula, poured=dict(reversed(poured.items())),
        developer_grams=formula.developer_grams, by=story.by, at=story.later(),
    )  # fmt: skip
    services.start_processing(bowl=story.fresh(bowl), by=story.by, at=story.later())
    services.end_processing(bowl=story.fresh(bowl), by=story.by, at=story.later(20))
    story.visit.refresh_from_db()
    visit = story.see().close()
    card = unescape(render_to_string("cards/visit.html", content.visit_card(visit)))

    known = list(story.visit.line.shades.values_list("name", flat=True))
    for recipe in offers[0].recipes:
        names = [name for name, _grams in recipe.weights.grams]
        assert names == [name for name in known if name in names]
    assert re.findall(r'class="weigh__name"[^>]*>\s*([^<]+?)\s*<', sheet)[: len(shelf)] == shelf
    rows = re.findall(r'<th scope="row">\s*([^<]+?)\s*(?:<span|</th>)', card)
    assert [name for name in rows if name in known] == shelf


def test_the_card_tells_what_came_out_and_not_what_will(story: Story) -> None:
    visit = story.to_end(level=Decimal("6.5"), warmth_left_percent=45)
    place = visit.choices.get().places.get()

    card = unescape(render_to_string("cards/visit.html", content.visit_card(visit)))

    assert "Result, dry: as dark as level 6.5, 45 % of the warmth left" in card
    promised = round(place.predicted["warmth_left_percent"]["value"])
    level = f"{place.predicted['level']['value']:.1f}"
    assert f"Promised: as dark as level {level}, {promised} % of the warmth left." in card
    for sentence in re.split(r"(?<=\.) ", place.statement):
        assert sentence not in card
    assert "will look" not in card
