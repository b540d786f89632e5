"""The last visit beside today, before the choice: what came out, what differs, one press."""

from dataclasses import replace
from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse

from consult.agreement import last_time, planning
from consult.models import HairFacts, ResultSeen
from consult.selectors import readings_in_force
from formulas.models import Shade
from tests.factories.consult import Story, opened, zone

ALL = "roots,mid_lengths,ends"


@pytest.fixture
def again(story: Story) -> Story:
    """The next visit of a client whose hair came out warmer than promised."""
    story.to_bench().process()
    promised = story.visit.choices.get().places.get().predicted["warmth_left_percent"]["value"]
    story.see(warmth_left_percent=round(promised) + 12).close()
    return opened(story.visit.salon, stylist=story.by, at=story.later(60)).answer()


def _of(story: Story) -> last_time.LastTime:
    plans = planning.plans(story.visit, readings_in_force(story.visit), at=story.at)
    found = last_time.of(story.visit, plans, at=story.at)
    assert found is not None
    return found


def test_it_says_how_far_the_result_was_from_the_promise(again: Story) -> None:
    again.read()

    found = _of(again)

    assert found.is_complete
    assert [one.zones for one in found.parts] == [ALL]
    assert "12 points warmer than promised" in {one.difference for one in found.parts}
    assert found.differences == []
    mark, (part,) = found.mark(ALL), found.parts
    promised = part.group.promised["warmth_left_percent"]["value"]
    assert mark is not None
    assert mark["warmth"] == promised
    assert mark["seen_warmth"] == round(promised) + 12
    assert mark["seen_deeper"] == pytest.approx(
        mark["deeper"] + part.group.promised["level"]["value"] - 6.5
    )


def test_it_names_what_reads_otherwise_today(again: Story) -> None:
    again.read(roots=zone(white_percent=15, lifted_level=Decimal("8.0")))

    assert _of(again).differences == ["Roots: white 0 % → 15 %, lifted to 7.5 → 8.0"]


def test_a_shade_out_of_use_is_named_with_the_nearest_mix(again: Story) -> None:
    again.read()
    used = {name for name, _part in _of(again).parts[0].parts}
    gone = min(used)
    Shade.objects.filter(line=again.visit.line, name=gone).update(is_active=False)

    found = _of(again).parts[0]

    assert list(found.missing) == [gone]
    assert gone not in {name for name, _part in found.parts}
    assert found.nearest_mix


def test_one_press_takes_last_times_mix_to_the_signature(again: Story, tablet: Browser) -> None:
    again.read()
    mixed = _of(again).parts[0]
    address = reverse("consult:choice", args=[again.visit.pk])
    page = tablet.get(address)
    again.visit.refresh_from_db()

    answer = tablet.post(
        address,
        {
            "version": again.visit.version,
            "again": "1",
            planning.field_name(ALL): "90",  # the slider is not what counts
        },
    )

    assert "Same as last time" in page.text
    assert "12 points warmer than promised" in page.text
    assert "data-last" in page.text
    assert answer.headers["Location"] == reverse("consult:sign", args=[again.visit.pk])
    place = again.visit.choices.get().places.get()
    assert [tuple(part) for part in place.shown["chosen"]["parts"]] == list(mixed.parts)


def test_without_an_earlier_visit_there_is_nothing_to_repeat(
    story: Story, tablet: Browser
) -> None:
    story.answer().read()
    address = reverse("consult:choice", args=[story.visit.pk])
    page = tablet.get(address)
    story.visit.refresh_from_db()

    answer = tablet.post(
        address,
        {"version": story.visit.version, "again": "1", planning.field_name(ALL): "40"},
    )

    assert "Same as last time" not in page.text
    assert answer.status_code == 422
    assert not story.visit.choices.exists()


@pytest.mark.parametrize(
    ("off", "little", "words"),
    [
        (12, False, "12 points warmer than promised"),
        (-12, False, "12 points cooler than promised"),
        (0, False, "as warm as promised"),
        (12, True, "warmer than promised"),
        (-12, True, "cooler than promised"),
        (10, True, "as warm as promised"),
        (None, False, ""),
    ],
)
def test_the_difference_is_shown_in_points_except_at_very_little_warmth(
    again: Story, off: int | None, little: bool, words: str
) -> None:
    again.read()
    (part,) = _of(again).parts
    promised = round(part.group.promised["warmth_left_percent"]["value"])
    seen = ResultSeen(
        level=None,
        warmth_left_percent=None if off is None else promised + off,
        predicted={**part.group.predicted, "shows_little_warmth": little},
    )

    found = replace(part, group=replace(part.group, result=seen))

    assert found.difference == words
    last = replace(_of(again), parts=[found])
    assert last.mark(ALL) == {
        "warmth": part.group.promised["warmth_left_percent"]["value"],
        "deeper": part.group.promised["levels_deeper_looks"]["value"],
    }  # a result without its level has no place on the curve
    assert last.mark("roots") is None
    unseen = replace(part, group=replace(part.group, result=None))
    assert unseen.difference == ""


def test_other_hair_over_the_whole_head_is_named_and_what_was_not_read_is_not(
    again: Story,
) -> None:
    again.read()
    now = readings_in_force(again.visit)
    before = {name: row for name, row in now.items() if name != "roots"}
    short = HairFacts(length="short", density="normal")
    long = HairFacts(length="long", density="normal")

    assert last_time.differences(before, now, short, long) == [
        f"Length: {short.get_length_display()} → {long.get_length_display()}"
    ]
    assert last_time.differences(before, now, None, long) == []


def test_a_part_that_was_not_toned_then_has_nothing_to_repeat(story: Story) -> None:
    """The ends were left out last time: today's mix for them is chosen with the rest."""
    story.answer().read(ends=zone(is_toned=False))
    story.choose()
    story.sign()
    story.decide()
    story.process().see().close()
    today = opened(story.visit.salon, stylist=story.by, at=story.later(60)).answer().read()

    found = _of(today)

    assert not found.is_complete
    assert found.visit == story.visit


def test_a_shade_that_leaves_the_shelf_while_the_page_is_made_repeats_nothing(
    again: Story,
) -> None:
    again.read()
    plans = planning.plans(again.visit, readings_in_force(again.visit), at=again.at)
    again.visit.line.shades.exclude(name="clear").update(is_active=False)

    found = last_time.of(again.visit, plans, at=again.at)

    assert found is not None
    assert not found.is_complete


def test_a_mix_of_a_shade_that_is_gone_is_refused_in_words(again: Story) -> None:
    again.read()
    gone = again.visit.line.shades.first()
    assert gone is not None
    gone.is_active = False
    gone.save()

    for parts in ({gone.pk: 1}, {}):
        with pytest.raises(planning.NothingToMix, match="no longer has that shade"):
            planning.predict(
                again.visit, readings_in_force(again.visit), ALL, parts=parts, at=again.at
            )
