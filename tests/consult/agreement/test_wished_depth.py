"""The second wish, deeper: seen, said, signed for, mixed by, and found again later."""

import json
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.template.loader import render_to_string
from django.test import Client as Browser
from django.urls import reverse

from consult import services
from consult.agreement import verification
from consult.agreement.wished_depth import colour_name, levels_below
from consult.bench import recipes
from consult.models import Choice
from consult.paper import content
from consult.screens.choice_head import ChoiceHead
from formulas import engine
from formulas.models import MovementReason, Shade, ShelfBalance, StockMovement
from formulas.selectors import shades_in_stock
from salon.drawing.colour import hex_to_lab
from tests.factories.consult import Story, zone
from tests.typed import Answer

WISH = Decimal(5)


@pytest.fixture
def brown(story: Story) -> Story:
    """A visit whose shelf also holds the browns that a depth is mixed from."""
    line = story.visit.line
    for words in ("6 blue", "5 natural", "5 violet-blue", "4 natural"):
        source = engine.Shade.from_words(words)
        level = Decimal(str(source.level))
        shade = Shade.objects.create(
            line=line, name=words, level=level, tones=dict(source.tones), neutral=source.neutral
        )
        StockMovement.objects.create(
            salon=line.salon,
            shade=shade,
            grams=Decimal(300),
            reason=MovementReason.RECEIVED,
            recorded_at=story.at,
            recorded_by=story.by,
        )
        ShelfBalance.objects.create(shade=shade, grams=Decimal(300))
    return story


@pytest.fixture
def read(brown: Story) -> Story:
    return brown.answer().read()


def _page(tablet: Browser, story: Story, **fields: str) -> Answer:
    return tablet.get(reverse("consult:choice", args=[story.visit.pk]), fields)


def _post(tablet: Browser, story: Story, **fields: str) -> Answer:
    story.visit.refresh_from_db()
    data = {"version": story.visit.version, "tied": "1", **fields}
    return tablet.post(reverse("consult:choice", args=[story.visit.pk]), data)


def _lightness(head: ChoiceHead) -> float:
    return max(hex_to_lab(colour)[0] for colour in head.colours.values())


def test_deeper_is_chosen_signed_mixed_and_found_again(read: Story, tablet: Browser) -> None:
    plain = _page(tablet, read).context["head"]
    wished = _page(
        tablet, read, head=plain.value, tied="1", deeper="1", wanted_level=f"{WISH}"
    ).context["head"]

    # htmx brings the form again and leaves scripts out: its data may not lie in one.
    form = _page(tablet, read).text.partition('id="choice"')[2].partition("</form>")[0]
    assert "data-head=" in form
    assert "<script" not in form
    # The head shows it, and the sentence says it.
    assert _lightness(wished) < _lightness(plain) - 5
    assert wished.sentences[1] == (
        "It looks about as dark as natural light brown (level 5), as you wished."
    )
    answer = _post(tablet, read, head=wished.value, deeper="1", wanted_level=f"{WISH}")
    assert answer.status_code == 302
    choice = read.visit.choices.get()
    (place,) = choice.places.all()
    assert choice.wanted_level == WISH
    assert place.predicted["level"]["value"] == pytest.approx(float(WISH), abs=0.6)
    assert "You asked for hair as dark as natural light brown (level 5)." in place.statement

    # The signature freezes it.
    read.visit.refresh_from_db()
    signed = read.sign()
    frozen = json.loads(signed.snapshot)
    assert frozen["wanted_level"] == frozen["places"][0]["shown"]["wanted_level"] == 5.0
    assert verification.fault_in(read.visit.salon) is None

    # The formula keeps to the depth, not to the lightest mix of that warmth.
    (offer,) = recipes.offers(
        read.visit,
        list(shades_in_stock(line=read.visit.line)),
        choice=read.facts.choice,
        readings=read.facts.readings,
        at=read.later(),
    )
    looks = [recipe.predicted["levels_deeper_looks"]["value"] for recipe in offer.recipes]
    signed_for = place.predicted["levels_deeper_looks"]["value"]
    assert looks == pytest.approx([signed_for] * len(looks), abs=0.35)

    # The page opens with it, history and card name it.
    assert _page(tablet, read).context["head"].value == wished.value
    read.decide()
    read.process().see().close()
    asked_for = "natural light brown (level 5)"
    assert asked_for in tablet.get(reverse("consult:visit", args=[read.visit.pk])).text
    read.visit.refresh_from_db()
    paper = content.visit_card(read.visit)
    for page in ("cards/visit.html", "cards/visit_small.html"):
        assert asked_for in render_to_string(page, paper)


def test_a_wish_given_up_is_no_wish(read: Story, tablet: Browser) -> None:
    assert _post(tablet, read, head="40", wanted_level="5").status_code == 302

    choice = read.visit.choices.get()
    assert choice.wanted_level is None
    assert "You asked for" not in choice.places.get().statement


@pytest.mark.parametrize("typed", ["5.25", "x", "-3", "99"])
def test_a_depth_that_nobody_offered_is_refused(
    read: Story, tablet: Browser, typed: str
) -> None:
    answer = _post(tablet, read, head="40", deeper="1", wanted_level=typed)

    assert answer.status_code == 422
    assert "Choose how dark it should be from the list." in answer.text
    with pytest.raises(services.ChoiceIncomplete):
        services.choose(
            visit=read.visit,
            head_aim=40.0,
            wanted_level=Decimal("5.25"),
            by=read.by,
            at=read.later(),
        )
    assert not read.visit.choices.exists()


def test_the_client_sees_it_only_where_it_is_wished(brown: Story, tablet: Browser) -> None:
    brown.answer().read()
    tablet.post(reverse("consult:hand_over", args=[brown.visit.pk]))
    page = reverse("consult:client_choice", args=[brown.visit.pk])
    assert "wanted_level" not in tablet.get(page).text

    half_white = zone(white_percent=50, lifted_level=Decimal(5))
    brown.visit.refresh_from_db()
    brown.read(roots=half_white, mid_lengths=half_white, ends=half_white)
    asked = tablet.get(page)
    assert "wanted_level" in asked.text
    assert "id_deeper" not in asked.text  # only the stylist closes it
    moved = tablet.get(page, {"deeper": "1", "wanted_level": "4", "tied": "1", "head": "10"})
    assert "natural medium brown (level 4)" in moved.context["head"].spoken


def test_the_client_starts_from_what_the_stylist_left(read: Story, tablet: Browser) -> None:
    left = {"tied": "1", "head": "30", "deeper": "1", "wanted_level": "6"}
    tablet.post(
        reverse("consult:draft", args=[read.visit.pk]),
        {
            "step": "choice",
            "version": read.visit.version,
            "fields": json.dumps(list(left.items())),
        },
    )

    tablet.post(reverse("consult:hand_over", args=[read.visit.pk]))
    page = tablet.get(reverse("consult:client_choice", args=[read.visit.pk]))

    assert page.context["depth"].level == 6
    assert "natural dark blonde (level 6)" in page.context["head"].spoken
    assert float(page.context["head"].value) == pytest.approx(30, abs=8)


def test_untied_parts_keep_the_wish(brown: Story, tablet: Browser) -> None:
    brown.answer().read(roots=zone(lifted_level=Decimal(9)))
    fields = {
        "deeper": "1",
        "wanted_level": "6",
        "aim-roots": "20",
        "aim-mid_lengths-ends": "30",
    }

    assert _post(tablet, brown, tied="", **fields).status_code == 302

    for place in brown.visit.choices.get().places.all():
        assert place.predicted["level"]["value"] == pytest.approx(6, abs=0.7)


def test_a_level_between_the_half_steps_cannot_be_stored(read: Story) -> None:
    choice = read.choose()
    copy = {f.name: getattr(choice, f.name) for f in Choice._meta.fields if f.name != "id"}
    with pytest.raises(IntegrityError), transaction.atomic():
        Choice.objects.create(**{**copy, "number": 9, "wanted_level": Decimal("5.3")})


def test_the_levels_offered_are_darker_than_the_hair() -> None:
    assert levels_below(7.6) == [7, 6, 5, 4, 3]
    assert levels_below(7.4) == [6, 5, 4, 3]
    assert levels_below(12.0)[0] == 10
    assert levels_below(3.2) == []
    assert colour_name(5.5) == "dark blonde (level 5.5)"
