"""What the formula and the bench refuse, and what they keep."""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from clients.models import PatchTestReading, ReadingOutcome
from consult import selectors, services
from consult.models import Formula
from consult.models.bowl import MOST_GRAMS
from consult.visit.path import Step
from salon.models import Salon
from tests.factories.consult import (
    Story,
    due_step,
    stocked_line,
    zone,
)


def _decide(story: Story, parts: dict[int, Decimal | int], **changes: object) -> Formula:
    given: dict[str, Any] = {
        "visit": story.visit,
        "zones_key": "roots,mid_lengths,ends",
        "parts": parts,
        "source": "own",
        "bowl_grams": Decimal(60),
        "by": story.by,
        "at": story.later(),
        **changes,
    }
    return services.decide_formula(**given)


@pytest.fixture
def signed(story: Story) -> Story:
    story.answer().read()
    story.choose()
    story.sign()
    return story


def _shade(story: Story, name: str) -> int:
    return story.visit.line.shades.get(name=name).pk


def test_no_formula_without_a_signature(story: Story) -> None:
    story.answer().read()
    story.choose()

    with pytest.raises(services.OutOfOrder):
        _decide(story, {_shade(story, "clear"): 1})


def test_no_formula_behind_a_shut_gate(signed: Story) -> None:
    """A late reaction, seen between the signature and the bowl."""
    test = signed.visit.client.patch_tests.get()
    PatchTestReading.objects.create(
        test=test,
        applied_at=test.applied_at,
        outcome=ReadingOutcome.REACTION,
        signs="redness",
        read_at=signed.at,
        read_by=signed.by,
    )

    with pytest.raises(services.GateShut, match="reacted to this line"):
        signed.decide()

    assert not signed.visit.formulas.exists()


@pytest.mark.parametrize("part", [0, -1, Decimal("-0.5")])
def test_parts_are_above_zero(signed: Story, part: Decimal | int) -> None:
    with pytest.raises(services.FormulaRefused, match="above zero"):
        _decide(signed, {_shade(signed, "8 natural"): part})


def test_a_formula_needs_shades_of_its_own_line(
    signed: Story, other_salon: Salon, now: dt.datetime
) -> None:
    from tests.factories.consult import owner_of

    elsewhere = stocked_line(other_salon, by=owner_of(other_salon), at=now)

    with pytest.raises(services.FormulaRefused, match="at least one"):
        _decide(signed, {})
    with pytest.raises(services.FormulaRefused, match="no longer has that shade"):
        _decide(signed, {elsewhere.shades.first().pk: 1})  # type: ignore[union-attr]


def test_a_mix_that_strays_from_the_signature_is_refused(signed: Story) -> None:
    with pytest.raises(services.StraysFromSignOff, match="sign again"):
        _decide(signed, {_shade(signed, "clear"): 1})

    assert not signed.visit.formulas.exists()


def test_a_revision_keeps_the_earlier_one(signed: Story) -> None:
    (first,) = signed.decide()
    (second,) = signed.decide()

    assert (first.revision, second.revision) == (1, 2)
    assert selectors.formulas_in_force(signed.visit, signed.visit.sign_offs.get()) == [second]
    assert signed.visit.formulas.count() == 2


def test_a_formula_serves_whole_groups_only(signed: Story) -> None:
    with pytest.raises(services.FormulaRefused, match="whole groups"):
        _decide(signed, {_shade(signed, "clear"): 1}, zones_key="roots")


def test_a_replaced_formula_is_not_weighed(signed: Story) -> None:
    (first,) = signed.decide()
    signed.decide()

    with pytest.raises(services.BowlRefused, match="replaced"):
        services.mix_bowl(
            visit=signed.visit,
            formula=first,
            poured={line.shade_id: line.grams for line in first.lines.all()},
            developer_grams=first.developer_grams,
            by=signed.by,
            at=signed.later(),
        )


@pytest.mark.parametrize("grams", [Decimal("-0.1"), MOST_GRAMS + Decimal("0.1")])
def test_developer_weighs_no_more_than_a_bowl_holds(signed: Story, grams: Decimal) -> None:
    (formula,) = signed.decide()

    with pytest.raises(services.BowlRefused) as refused:
        services.mix_bowl(
            visit=signed.visit,
            formula=formula,
            poured={line.shade_id: line.grams for line in formula.lines.all()},
            developer_grams=grams,
            by=signed.by,
            at=signed.later(),
        )

    assert refused.value.code == "too_heavy"


@pytest.mark.parametrize("grams", [Decimal(0), Decimal(-1), Decimal(1000)])
def test_a_weight_makes_sense(signed: Story, grams: Decimal) -> None:
    (formula,) = signed.decide()
    poured = {line.shade_id: grams for line in formula.lines.all()}

    with pytest.raises(services.BowlRefused):
        services.mix_bowl(
            visit=signed.visit,
            formula=formula,
            poured=poured,
            developer_grams=Decimal(30),
            by=signed.by,
            at=signed.later(),
        )

    assert not signed.visit.bowls.exists()


def test_time_starts_once_and_ends_once(signed: Story) -> None:
    signed.decide()
    (bowl,) = signed.mix()
    with pytest.raises(services.MarkRefused, match="No clock is running"):
        services.end_processing(bowl=signed.fresh(bowl), by=signed.by, at=signed.at)
    services.start_processing(bowl=signed.fresh(bowl), by=signed.by, at=signed.at)
    with pytest.raises(services.MarkRefused, match="already"):
        services.start_processing(bowl=signed.fresh(bowl), by=signed.by, at=signed.at)
    before = signed.at - dt.timedelta(minutes=1)
    with pytest.raises(services.MarkRefused, match="before it started"):
        services.end_processing(bowl=signed.fresh(bowl), by=signed.by, at=before)


def test_a_result_waits_for_every_zone_to_be_rinsed(story: Story) -> None:
    story.answer().read(roots=zone(lifted_level=Decimal("7.0")))
    story.choose()
    story.sign()
    story.decide()
    first, second = story.mix()
    for bowl in (first, second):
        services.start_processing(bowl=story.fresh(bowl), by=story.by, at=story.later())
    services.end_processing(bowl=story.fresh(first), by=story.by, at=story.later())
    story.visit.refresh_from_db()
    assert story.facts.due == Step.BENCH

    services.end_processing(bowl=story.fresh(second), by=story.by, at=story.later())

    story.visit.refresh_from_db()
    assert due_step(story) == Step.RESULT


def test_a_second_look_keeps_the_first(signed: Story) -> None:
    signed.decide()
    signed.process().see(level=Decimal("6.5"))

    signed.see(level=Decimal("6.0"))

    levels = [row.level for row in signed.visit.results.order_by("pk")]
    assert levels == [Decimal("6.5"), Decimal("6.0")]
    assert selectors.results_in_force(signed.visit)["roots,mid_lengths,ends"].level == 6
