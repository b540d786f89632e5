"""The last visit beside today, before the choice: what came out, what differs, one press."""

from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse

from consult.agreement import last_time, planning
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
    gone = sorted(used)[0]
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
