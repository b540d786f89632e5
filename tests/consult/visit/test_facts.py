"""What a visit's records say: what holds, what is due, and what stays possible."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from consult import services
from consult.models import BowlMixed, MarkKind
from consult.visit.facts import read
from consult.visit.loading import records_of
from consult.visit.path import Act, Step
from tests.factories.consult import Story, due_step, zone


@pytest.fixture
def on_hair(story: Story) -> Story:
    """A visit whose one bowl is on the hair."""
    (bowl,) = story.to_bench().mix()
    services.start_processing(bowl=story.fresh(bowl), by=story.by, at=story.later())
    story.visit.refresh_from_db()
    return story


def _bowl(story: Story) -> BowlMixed:
    return story.fresh(story.visit.bowls.latest("number"))


def test_the_facts_ask_no_database(
    on_hair: Story, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    records = records_of(on_hair.visit, at=on_hair.at)

    with django_assert_num_queries(0):
        facts = read(records)

    assert (facts.due, facts.has_colour_on) == (Step.BENCH, True)


def test_each_step_is_due_once_the_one_before_holds(story: Story) -> None:
    acts: tuple[Callable[[], object], ...] = (
        story.answer,
        story.read,
        story.choose,
        story.sign,
        story.decide,
    )
    for step, act in zip(Step, acts, strict=False):
        assert story.facts.due == step
        assert not story.facts.steps[step].holds
        act()
        assert story.facts.steps[step].holds

    assert story.facts.due == Step.BENCH
    assert story.process().facts.due == Step.RESULT
    assert story.see().facts.due == Step.CARD


def test_a_corrected_reading_leaves_the_bench_open_and_says_what_lapsed(on_hair: Story) -> None:
    on_hair.read(roots=zone(lifted_level=Decimal("7.0")))

    facts = on_hair.facts
    assert facts.due == Step.BENCH
    assert facts.is_open(Step.BENCH)
    assert facts.is_open(Step.RESULT)
    assert facts.may(Act.RINSE)
    assert [one.step for one in facts.lapsed] == [Step.CHOICE, Step.SIGN, Step.FORMULA]
    assert facts.formulas == []
    assert "read again" in facts.steps[Step.CHOICE].why
    assert "read again" in facts.why_not(Act.MIX)


@pytest.mark.parametrize("question", ["scalp", "new_allergy"])
def test_an_answer_shuts_the_way_to_a_further_bowl_and_nothing_else(
    on_hair: Story, tablet: Browser, question: str
) -> None:
    on_hair.answer(**{question: "yes"})

    facts = on_hair.facts
    assert not facts.may(Act.MIX)
    assert not facts.may(Act.START)
    assert facts.may(Act.RINSE)
    for name in ("bench", "result", "visit"):
        page = tablet.get(reverse(f"consult:{name}", args=[on_hair.visit.pk]))
        assert page.status_code == 200
        assert "Rinse what is on the hair. Put no more colour on" in page.text
        assert "Colour cannot start" not in page.text
    address = reverse("consult:end", args=[on_hair.visit.pk, _bowl(on_hair).pk])
    tablet.post(address, {"version": on_hair.visit.version})
    assert _bowl(on_hair).marks.filter(kind=MarkKind.END).exists()
    on_hair.visit.refresh_from_db()
    assert on_hair.facts.due == Step.RESULT
    assert on_hair.see().close().has_ended


def test_an_answer_taken_back_asks_for_nothing_again(on_hair: Story) -> None:
    on_hair.answer(scalp="yes")

    on_hair.answer()

    assert on_hair.facts.lapsed == []
    assert on_hair.facts.may(Act.MIX)


def test_a_reading_put_back_makes_the_signature_hold_again(story: Story) -> None:
    story.to_bench()
    story.read(roots=zone(lifted_level=Decimal("7.0")))
    assert story.facts.sign_off is None

    story.read()

    assert story.facts.sign_off is not None
    assert story.facts.due == Step.BENCH


def test_a_reading_after_the_result_leads_to_another_choice(on_hair: Story) -> None:
    services.end_processing(bowl=_bowl(on_hair), by=on_hair.by, at=on_hair.later())
    on_hair.visit.refresh_from_db()
    on_hair.see()
    assert on_hair.facts.due == Step.CARD

    on_hair.read(roots=zone(lifted_level=Decimal("7.0")))

    assert due_step(on_hair) == Step.CHOICE
    assert on_hair.facts.may(Act.CLOSE)


def test_a_revision_decided_while_a_bowl_runs_does_not_keep_from_the_result(
    on_hair: Story,
) -> None:
    on_hair.decide()
    assert on_hair.facts.due == Step.BENCH

    services.end_processing(bowl=_bowl(on_hair), by=on_hair.by, at=on_hair.later())
    on_hair.visit.refresh_from_db()

    assert due_step(on_hair) == Step.RESULT


def test_a_bowl_that_never_went_on_lets_the_visit_end_without_colour(story: Story) -> None:
    story.to_bench().mix()
    assert not story.facts.may(Act.CLOSE)

    services.stop_visit(visit=story.visit, reason="fainted", by=story.by, at=story.later())

    assert story.visit.has_ended
