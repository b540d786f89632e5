"""What is left in a bowl is asked once, while it processes; nothing waits for it."""

from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse

from consult import services
from consult.models import BowlLeftover, BowlMixed
from tests.factories.consult import Story
from tests.typed import Answer


@pytest.fixture
def on(story: Story) -> BowlMixed:
    """A bowl on the hair."""
    story.to_bench()
    (bowl,) = story.mix()
    services.start_processing(bowl=story.fresh(bowl), by=story.by, at=story.later())
    return story.fresh(bowl)


def _weigh(
    tablet: Browser, bowl: BowlMixed, grams: str, headers: dict[str, str] | None = None
) -> Answer:
    address = reverse("consult:leftover", args=[bowl.visit_id, bowl.pk])
    return tablet.post(address, {"grams": grams}, headers=headers)


def test_it_is_asked_once_the_bowl_is_on_and_kept_with_its_corrections(
    on: BowlMixed, tablet: Browser
) -> None:
    bench = reverse("consult:bench", args=[on.visit_id])
    assert "What is left in the bowl" in tablet.get(bench).text

    assert _weigh(tablet, on, "12,5").status_code == 302
    _weigh(tablet, on, "12,5")
    _weigh(tablet, on, "2.5")

    rows = list(BowlLeftover.objects.order_by("pk"))
    assert [row.grams for row in rows] == [Decimal("12.5"), Decimal("2.5")]
    assert rows[1].replaces == rows[0]
    page = tablet.get(bench).text
    assert "What is left in the bowl" not in page
    assert "2.5 g were left in the bowl." in page


@pytest.mark.parametrize("grams", ["-1", "x", "", "5000", "12.55"])
def test_nonsense_is_refused_beside_its_field_with_what_was_typed(
    on: BowlMixed, tablet: Browser, grams: str
) -> None:
    answer = _weigh(tablet, on, grams, headers={"HX-Request": "true"})

    assert answer.status_code == 422
    assert f'value="{grams}"' in answer.text or not grams
    assert f'id="id_left_{on.pk}_grams_error"' in answer.text
    assert not BowlLeftover.objects.exists()


def test_more_than_was_mixed_is_refused(on: BowlMixed, tablet: Browser) -> None:
    answer = _weigh(tablet, on, str(on.total_grams + 1))

    assert answer.status_code == 422
    assert f"Only {on.total_grams} g were mixed." in answer.text


def test_a_bowl_that_is_not_on_yet_is_not_asked_about(story: Story, tablet: Browser) -> None:
    story.to_bench()
    (bowl,) = story.mix()

    with pytest.raises(services.LeftoverRefused) as refused:
        services.weigh_leftover(
            bowl=story.fresh(bowl), grams=Decimal(1), by=story.by, at=story.later()
        )

    assert refused.value.code == "not_on_yet"
    bench = reverse("consult:bench", args=[story.visit.pk])
    assert "What is left in the bowl" not in tablet.get(bench).text


def test_neither_the_rinse_nor_the_end_waits_for_it(on: BowlMixed, story: Story) -> None:
    services.end_processing(bowl=on, by=story.by, at=story.later(20))
    story.visit.refresh_from_db()
    story.see()
    story.close()

    assert not BowlLeftover.objects.exists()
    assert story.fresh(on).visit.has_ended


def test_the_redrawn_bowl_of_an_early_rinse_still_asks_why(
    on: BowlMixed, story: Story, tablet: Browser
) -> None:
    services.end_processing(bowl=on, by=story.by, at=story.later(2))

    redrawn = _weigh(tablet, on, "10", headers={"HX-Request": "true"}).text

    assert "Why so early?" in redrawn
    assert "The colour was already there" in redrawn
    assert "10.0 g were left in the bowl." in redrawn
