"""The sheet of a bowl: fields of its own for each, and the developer as it was poured.

Peroxide is a weighted mean (textbook); the limit is Regulation (EC) 1223/2009, Annex III,
entry 12: 12 % in the ready-to-use preparation.
"""

from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse

from consult.models import BowlMixed
from tests.consult.bench.test_bench_posted import _post, _sheet
from tests.factories.consult import Story, zone
from tests.structure import faults, parse_errors
from tests.typed import Answer


def _bench(story: Story) -> str:
    return reverse("consult:bench", args=[story.visit.pk])


def _asked(tablet: Browser, story: Story, **changes: object) -> Answer:
    formula = story.visit.formulas.get()
    address = reverse("consult:rescale", args=[story.visit.pk])
    return tablet.post(address, _sheet(formula, **changes))


def test_two_bowls_share_no_id_and_every_label_has_its_field(
    story: Story, tablet: Browser
) -> None:
    story.answer().read(roots=zone(lifted_level=Decimal("7.0")))
    story.choose()
    story.sign()
    story.decide()
    first = story.mix()[0]  # its sheet is folded now, and still a sheet

    page = tablet.get(_bench(story)).text

    assert page.count('id="weigh-') == 2
    assert f'id="id_bowl{first.formula_id}_developer_grams"' in page
    assert faults(page) == []


def test_the_structure_check_sees_what_it_is_for() -> None:
    page = '<p id="a"></p><i id="a"></i><label for="b"></label><label for="a"></label>'

    assert faults(page) == [
        "id twice: a",
        "label without its part: b",
        "label of what is no field: a",
    ]
    assert parse_errors("<!doctype html><p>a<ul><li>b</li></ul></p>") == [
        "unexpected-end-tag {'name': 'p'}: <!doctype html><p>a<ul><li>b</li></ul></p>"
    ]


def test_the_developer_is_recorded_as_poured(story: Story, tablet: Browser) -> None:
    formula = story.to_bench().visit.formulas.get()
    more = formula.developer_grams + 14
    sheet = _sheet(formula, **{"developer_grams": more, "in_bowl-developer": "on"})

    assert _post(tablet, story, _bench(story), sheet).status_code == 302

    bowl = BowlMixed.objects.get()
    colour = sum(line.poured_grams for line in bowl.lines.all())
    mean = formula.developer_percent * more / (more + colour)
    assert bowl.developer_grams == more
    assert bowl.strength_percent == mean.quantize(Decimal("0.01"))


@pytest.mark.parametrize(("change", "words"), [(14, "you need"), (-6, "g more for 1")])
def test_a_developer_in_the_bowl_stays_and_says_its_ratio(
    story: Story, tablet: Browser, change: int, words: str
) -> None:
    developer = story.to_bench().visit.formulas.get().developer_grams + change

    answer = _asked(tablet, story, developer_grams=developer)

    form, mixture = answer.context["sheet"].form, answer.context["sheet"].mixture
    assert form["developer_grams"].value() == str(developer)
    assert form["in_bowl-developer"].value()
    assert mixture.ratio == (developer / mixture.colour_grams).quantize(Decimal("0.01"))
    assert words in answer.text


def test_a_developer_still_to_come_follows_an_over_pour_and_a_poured_one_does_not(
    story: Story, tablet: Browser
) -> None:
    formula = story.to_bench().visit.formulas.get()
    line = formula.lines.first()
    assert line is not None
    over = {f"poured-{line.shade_id}": line.grams * 2, f"in_bowl-{line.shade_id}": "on"}

    follows = _asked(tablet, story, **over).context["sheet"].form
    stays = _asked(tablet, story, **over, **{"in_bowl-developer": "on"}).context["sheet"]

    assert Decimal(follows["developer_grams"].value()) == 2 * formula.developer_grams
    assert Decimal(stays.form["developer_grams"].value()) == formula.developer_grams
    assert stays.rescaled.more_developer == formula.developer_grams


@pytest.mark.parametrize(("percent", "why"), [("40", "entry 12"), ("13", "Dilute it first")])
def test_too_strong_a_bottle_is_refused_beside_its_field(
    story: Story, tablet: Browser, percent: str, why: str
) -> None:
    """40 % at 1:1.5 is 24 % on the hair; 13 % must not go into the bowl undiluted."""
    formula = story.to_bench().visit.formulas.get()

    posted = _post(tablet, story, _bench(story), _sheet(formula, developer_percent=percent))
    asked = _asked(tablet, story, developer_percent=percent)

    assert (posted.status_code, asked.status_code) == (422, 422)
    assert why in asked.context["sheet"].form.errors["developer_percent"][0]
    assert not BowlMixed.objects.exists()


def test_another_bottle_is_on_record_with_its_strength(story: Story, tablet: Browser) -> None:
    formula = story.to_bench().visit.formulas.get()

    _post(tablet, story, _bench(story), _sheet(formula, developer_percent="6"))

    bowl = BowlMixed.objects.get()
    ratio = formula.developer_grams / sum(line.grams for line in formula.lines.all())
    assert bowl.developer_percent == 6
    assert bowl.strength_percent == (6 * ratio / (1 + ratio)).quantize(Decimal("0.01"))
