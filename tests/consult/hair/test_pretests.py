"""Tests on the hair: what calls for them, what they stop, and that they are kept."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from clients import services as desk
from clients.models import HairWork
from consult import selectors, services
from consult.hair import pretests, stops
from consult.models import PreTestKind
from salon.append_only import AppendOnlyError
from tests.factories.consult import Story, checked_in, zone
from tests.factories.preparation import hair_tested, lightened


def _asked(story: Story) -> dict[str, pretests.TestRequest]:
    return {one.kind: one for one in pretests.test_requests(story.visit, at=story.at)}


def _did(story: Story, work: str, *, days: int = 100) -> None:
    desk.add_hair_history(
        client=story.visit.client,
        work=work,
        origin="told",
        happened_date=story.at.date() - dt.timedelta(days=days),
        by=story.by,
        at=story.later(),
    )


# What calls for a test


def test_a_first_visit_with_a_line_asks_for_a_strand_test(story: Story) -> None:
    story.answer()

    asked = _asked(story)

    assert asked[PreTestKind.STRAND].reasons
    assert not asked[PreTestKind.STRAND].is_required
    assert not asked[PreTestKind.INCOMPATIBILITY].reasons
    assert not asked[PreTestKind.ELASTICITY].reasons


def test_a_line_that_was_used_before_asks_for_none(story: Story) -> None:
    visit = story.to_end()
    appointment = checked_in(visit.client, visit.line, stylist=story.by, starts_at=story.at)
    again = services.open_visit(appointment=appointment, by=story.by, at=story.later())

    assert not any(one.reasons for one in pretests.test_requests(again, at=story.at))


@pytest.mark.parametrize(
    ("work", "is_required"),
    [(HairWork.METALLIC, True), (HairWork.HENNA, True), (HairWork.BOX_COLOUR, False)],
)
def test_old_colour_that_may_hold_metal_asks_for_the_incompatibility_test(
    story: Story, work: str, is_required: bool
) -> None:
    _did(story, work)

    asked = _asked(story)[PreTestKind.INCOMPATIBILITY]

    assert asked.is_due
    assert asked.is_required is is_required


def test_old_colour_of_long_ago_asks_for_nothing(story: Story) -> None:
    """The salon looks two years back by default."""
    _did(story, HairWork.METALLIC, days=800)

    assert not _asked(story)[PreTestKind.INCOMPATIBILITY].reasons


@pytest.mark.parametrize("work", [HairWork.LIGHTENING, HairWork.STRAIGHTENING, HairWork.PERM])
def test_weakened_hair_asks_for_elasticity_and_porosity(story: Story, work: str) -> None:
    _did(story, work)

    asked = _asked(story)

    assert asked[PreTestKind.ELASTICITY].is_due
    assert asked[PreTestKind.POROSITY].is_due


def test_breakage_and_a_porous_reading_ask_for_elasticity(story: Story) -> None:
    story.answer(breakage="yes").read(ends=zone(porosity=Decimal("0.5")))

    assert len(_asked(story)[PreTestKind.ELASTICITY].reasons) == 2


def test_hair_lightened_today_asks_for_elasticity(story: Story) -> None:
    lightened(story)

    assert _asked(story)[PreTestKind.ELASTICITY].reasons == ["Lightened today."]


def test_every_kind_says_how_it_is_done_and_who_says_so() -> None:
    """The ratio and the time: vocational worksheets. The rest: common practice, no source."""
    incompatibility = pretests.PROCEDURES[PreTestKind.INCOMPATIBILITY]
    words = " ".join(str(step) for step in incompatibility.steps)

    assert set(pretests.PROCEDURES) == set(PreTestKind)
    for fact in ("20 parts of 6 % peroxide to 1 part", "30 minutes", "Fizzing, heat"):
        assert fact in words
    for kind in set(PreTestKind) - {PreTestKind.INCOMPATIBILITY}:
        assert "no source" in str(pretests.PROCEDURES[kind].source)


# What a test stops


def test_metal_salts_are_tested_for_before_anything_is_mixed(story: Story) -> None:
    story.answer(metallic="yes").read()
    story.choose()
    story.sign()

    with pytest.raises(services.PreTestMissing, match="incompatibility test"):
        story.decide()
    hair_tested(story, "incompatibility", "clear")

    assert story.decide()


def test_a_reaction_of_the_strand_stops_for_good(story: Story) -> None:
    story.answer().read()
    hair_tested(story, "incompatibility", "reacted")
    hair_tested(story, "incompatibility", "clear")

    with pytest.raises(stops.Stopped, match="metal salts"):
        story.choose()
    assert "Nobody can override this" in (
        stops.stops_of(story.visit, selectors.facts_in_force(story.visit))[0].advice
    )


def test_a_reaction_found_late_stops_the_signature_and_the_mix(story: Story) -> None:
    story.answer().read()
    story.choose()
    hair_tested(story, "incompatibility", "reacted")
    with pytest.raises(stops.Stopped):
        story.sign()


def test_a_reaction_found_after_the_formula_stops_the_bowl(story: Story) -> None:
    story.to_bench()
    hair_tested(story, "strand", "weakened")

    with pytest.raises(stops.Stopped, match="strand test"):
        story.mix()


def test_weak_hair_stops_until_the_same_zone_passes(story: Story) -> None:
    story.answer().read()
    hair_tested(story, "elasticity", "breaks", zone="ends")
    hair_tested(story, "elasticity", "springs_back", zone="roots")

    with pytest.raises(stops.Stopped, match="Ends"):
        story.choose()
    hair_tested(story, "elasticity", "springs_back", zone="ends")

    assert story.choose()


def test_a_sore_scalp_stops(story: Story) -> None:
    story.answer()
    services.read_hair(
        visit=story.visit,
        readings={name: zone() for name in ("roots", "mid_lengths", "ends")},
        facts={"scalp_state": "sore"},
        by=story.by,
        at=story.later(),
    )

    with pytest.raises(stops.Stopped, match="healed"):
        story.choose()


# The rows


def _copy(row: Any, **changes: Any) -> Callable[[], object]:
    fields = {f.attname: getattr(row, f.attname) for f in row._meta.concrete_fields}
    del fields["id"]
    return lambda: type(row)(**{**fields, **changes}).save()


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"result": "breaks"}, "pre_test_result_fits_its_kind"),
        ({"kind": "taste"}, "pre_test_result_fits_its_kind"),
        ({"zone": "beard"}, "pre_test_zone_known"),
    ],
)
def test_a_test_that_makes_no_sense_stands_in_no_row(
    story: Story, changes: dict[str, object], name: str
) -> None:
    write = _copy(hair_tested(story, "incompatibility", "clear"), **changes)

    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        write()


def test_tests_and_steps_are_append_only(story: Story) -> None:
    for row in (lightened(story), hair_tested(story, "strand", "as_predicted")):
        with pytest.raises(AppendOnlyError):
            row.save()
        with pytest.raises(AppendOnlyError):
            type(row).objects.all().delete()
