"""One bowl for several places: offered, taken, weighed, rinsed by parts, predicted truly."""

from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse

from consult import selectors, services
from consult.agreement import planning
from consult.bench import check_times, recipes
from consult.bench.shared_bowl import SharedBowl, neighbours, shared_bowls
from consult.history import histories
from consult.models import ChosenPlace, Source
from consult.visit.path import Step
from formulas import services as formulary
from formulas.selectors import shades_in_stock
from tests.factories.consult import Story, owner_of, zone
from tests.typed import present

ALL = "roots,mid_lengths,ends"


@pytest.fixture
def porous(story: Story) -> Story:
    """Ends that take more than the rest; each place is signed for the same warmth."""
    story.answer().read(ends=zone(porosity=Decimal("0.8")))
    story.choose()
    story.sign()
    return story


def _shared(story: Story) -> list[SharedBowl]:
    places = list(present(selectors.choice_in_force(story.visit)).places.all())
    names = {s.pk: s.name for s in shades_in_stock(line=story.visit.line)}
    readings = selectors.readings_in_force(story.visit)
    return shared_bowls(story.visit, places, readings, names, None, at=story.at)


def test_neighbouring_places_may_share(porous: Story) -> None:
    runs = neighbours([ChosenPlace(zones=key) for key in "abc"])

    assert [[place.zones for place in run] for run in runs] == [
        ["a", "b"], ["b", "c"], ["a", "b", "c"],
    ]  # fmt: skip


def test_a_common_bowl_says_what_each_place_gives_up(porous: Story) -> None:
    (bowl,) = _shared(porous)

    assert bowl.key == ALL
    assert [given.place.zones for given in bowl.outcomes] == ["roots,mid_lengths", "ends"]
    assert bowl.sentences
    for given in bowl.outcomes:
        alone = planning.predict(
            porous.visit,
            selectors.readings_in_force(porous.visit),
            given.place.zones,
            parts=bowl.parts,
            minutes=given.minutes or porous.visit.line.processing_minutes,
            at=porous.at,
        )
        assert given.predicted == alone


def test_it_is_offered_and_taken_with_one_press(porous: Story, tablet: Browser) -> None:
    address = reverse("consult:formula", args=[porous.visit.pk])
    page = tablet.get(address)
    (bowl,) = page.context["shared"]
    assert "One bowl for all of the hair?" in page.text
    if bowl.strays:
        pytest.skip("the small line of the tests has no common bowl here")

    tablet.post(
        address,
        {
            "zones": ALL, "bowl_grams": "80", "minutes": "20", "version": porous.visit.version,
            **{f"parts-{pk}": part for pk, part in bowl.parts.items()},
            **{f"rinse-{key.replace(',', '-')}": m for key, m in bowl.early.items()},
        },
    )  # fmt: skip

    formula = porous.visit.formulas.get()
    assert (formula.zones, formula.source) == (ALL, Source.SUGGESTED)
    assert set(formula.predicted) == {"roots,mid_lengths", "ends"}
    assert formula.zone_minutes == bowl.early
    assert porous.facts.due == Step.BENCH
    sheet = tablet.get(reverse("consult:bench", args=[porous.visit.pk]))
    assert len(sheet.context["sheets"]) == 1


def _decide(story: Story, zone_minutes: dict[str, int], minutes: int = 20) -> None:
    (bowl,) = _shared(story)
    services.decide_formula(
        visit=story.visit, zones_key=ALL, parts=bowl.parts, source="own", minutes=minutes,
        bowl_grams=Decimal(80), zone_minutes=zone_minutes, by=story.by, at=story.later(),
    )  # fmt: skip


@pytest.mark.parametrize(
    "early", [{"roots": 5}, {"ends": 0}, {"ends": 10, "roots,mid_lengths": 10}]
)
def test_only_signed_places_leave_early_and_not_all(
    porous: Story, early: dict[str, int]
) -> None:
    with pytest.raises(services.FormulaRefused):
        _decide(porous, early)


def test_a_part_that_goes_on_last_is_called_for_and_told(porous: Story) -> None:
    (offered,) = _shared(porous)
    early = offered.early or {"ends": 15}
    _decide(porous, early)
    (bowl,) = porous.mix()
    services.start_processing(bowl=porous.fresh(bowl), by=porous.by, at=porous.later())
    ((key, minutes),) = early.items()

    marks = check_times.marks_of(selectors.bowls_of(porous.visit)[0])
    services.note_check(
        bowl=porous.fresh(bowl), seen="on", zones_key=key, mark_minutes=20 - minutes,
        by=porous.by, at=porous.later(20 - minutes),
    )  # fmt: skip
    services.end_processing(bowl=porous.fresh(bowl), by=porous.by, at=porous.later(minutes))

    assert [(mark.minutes, mark.zones) for mark in marks if mark.zones] == [(20 - minutes, key)]
    assert [mark.label for mark in marks if mark.zones] == [f"Now apply to the {key}"]
    order = check_times.order_of_application(ALL, early)
    assert order == f"Roots and mid-lengths first; {key} for the last {minutes} minutes."
    told = {group.zones: group.minutes for group in histories.record_of(porous.visit).groups}
    assert told == {"roots,mid_lengths": 20, "ends": 20, key: minutes}


def test_places_that_read_alike_need_no_question(story: Story, tablet: Browser) -> None:
    story.answer().read()
    story.choose()
    story.sign()

    page = tablet.get(reverse("consult:formula", args=[story.visit.pk]))

    assert page.context["shared"] == []
    assert isinstance(page.context["offers"][0], recipes.Offer)


def test_not_all_places_go_on_last_and_the_whole_bowl_is_told_as_shorter(
    story: Story,
) -> None:
    """One strong shade is left: every place would get more of it than was signed."""
    story.answer().read(ends=zone(porosity=Decimal("0.8")))
    story.choose(aim=80)
    story.sign()
    story.visit.line.shades.exclude(name="8 strong violet-blue").update(is_active=False)

    (bowl,) = _shared(story)

    assert [given.minutes is None for given in bowl.outcomes].count(True) == 1
    assert bowl.strays


def test_a_common_bowl_with_a_share_too_small_to_weigh_is_not_offered(porous: Story) -> None:
    """Offered for a large bowl; now a small one is the rule, and 10 g are the least."""
    (before,) = _shared(porous)
    assert len(before.parts) > 1
    formulary.revise_mixing_rules(
        by=owner_of(porous.visit.salon), at=porous.later(), roots_grams=Decimal(5),
        mid_lengths_grams=Decimal(5), ends_grams=Decimal(5), least_bowl_grams=Decimal(10),
        least_grams=Decimal(10),
    )  # fmt: skip
    porous.visit.__dict__.pop("amounts")  # as another request reads it

    assert _shared(porous) == []
