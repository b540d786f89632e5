"""What the choice and the signature refuse, and what they freeze."""

import datetime as dt
from decimal import Decimal

import pytest

from consult import services
from consult.visit.path import Step
from salon.models import Salon, Staff
from tests.factories.consult import (
    SIGNATURE,
    Story,
    cleared_client,
    opened,
    stocked_line,
    zone,
)


def test_a_choice_covers_every_group_of_zones(story: Story) -> None:
    story.answer().read(roots=zone(lifted_level=Decimal("7.0")))
    only_roots = [services.Pick("roots", 40)]

    with pytest.raises(services.ChoiceIncomplete):
        services.choose(visit=story.visit, picks=only_roots, by=story.by, at=story.at)

    assert story.choose().places.count() == 2


def test_a_choice_names_its_versions_and_policy(story: Story) -> None:
    from formulas import engine

    story.answer().read()

    choice = story.choose()

    assert choice.engine_version == engine.VERSION
    assert f"line {story.visit.line_id}." in choice.data_version
    assert choice.policy_number == 0  # the careful defaults: no policy is on record


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ({"signed_name": ""}, "Type the name"),
        ({"signed_name": " \u200b.!"}, "Type the name"),
        ({"method": "drawn", "drawn": ""}, "Nothing is drawn"),
        ({"method": "drawn", "drawn": "[]"}, "Nothing is drawn"),
        ({"method": "drawn", "drawn": "{"}, "could not be read"),
        ({"method": "drawn", "drawn": '[{"points": [{"x": 1e999, "y": 1}]}]'}, "not be read"),
        ({"method": "drawn", "drawn": '[[["a", 1]]]'}, "could not be read"),
        ({"method": "drawn", "drawn": "[" * 5000}, "could not be read"),
        ({"method": "drawn", "drawn": " " * 500_000}, "too long"),
        ({"method": "stamp"}, "finger"),
    ],
)
def test_an_empty_or_broken_signature_is_no_signature(
    story: Story, how: dict[str, object], words: str
) -> None:
    story.answer().read()
    story.choose()

    with pytest.raises(services.SigningRefused, match=words):
        story.sign(**how)

    assert story.facts.due == Step.SIGN
    assert not story.visit.sign_offs.exists()


def test_a_choice_is_signed_once(story: Story) -> None:
    story.answer().read()
    story.choose()
    story.sign(method="drawn", drawn=SIGNATURE)

    with pytest.raises(services.OutOfOrder, match="already signed"):
        story.sign()


def test_an_older_choice_cannot_be_signed(story: Story) -> None:
    story.answer().read()
    first = story.choose(60)
    story.choose(20)

    with pytest.raises(services.SigningRefused, match="has changed"):
        services.sign_off(
            visit=story.visit,
            choice=first,
            method="typed",
            signed_name="Ada",
            by=story.by,
            at=story.later(),
        )


def test_a_minor_needs_a_guardian(salon: Salon, stylist: Staff, now: dt.datetime) -> None:
    line = stocked_line(salon, by=stylist, at=now)
    born = now.date() - dt.timedelta(days=17 * 365)
    client = cleared_client(salon, line, by=stylist, at=now, name="Ida", born=born)
    story = opened(salon, stylist=stylist, at=now, name=client.name)
    story.answer().read()
    story.choose()

    with pytest.raises(services.SigningRefused, match="guardian"):
        story.sign()

    assert story.sign(signed_name="Her mother", guardian_of="Ida").guardian_of == "Ida"
