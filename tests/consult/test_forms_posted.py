"""What is typed: kept, refused in words, never saved twice, never silently overwritten."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from clients.skin_test.safety import QUESTIONS
from consult.agreement.planning import field_name
from consult.bench import starting_values
from consult.forms.safety import GROUPS as SAFETY_GROUPS
from consult.hair.reading_fields import LOOKED_AT
from consult.models import Visit
from consult.visit.loading import facts_of
from consult.visit.path import Step
from tests.factories.consult import NO_TO_ALL, SIGNATURE, Story, opened
from tests.typed import Answer, present

ALL = "roots,mid_lengths,ends"


def _at(name: str, *args: int) -> str:
    return reverse(f"consult:{name}", args=args)


def _hair(**changes: Any) -> dict[str, Any]:
    told: dict[str, Any] = {
        "texture": "medium", "density": "normal", "length": "shoulder",
        "mid_lengths-same": "on", "ends-same": "on",
    }  # fmt: skip
    read = {
        "natural_level": "5.0", "lifted_level": "7.5", "undertone": "0",
        "white_percent": "0", "porosity": "0", "is_toned": "on",
    }  # fmt: skip
    for zone in ALL.split(","):
        told |= {f"{zone}-{name}": value for name, value in read.items()}
    return {**told, **changes}


def _post(
    tablet: Browser, name: str, story: Story, data: Mapping[str, object], **extra: Any
) -> Answer:
    version = Visit.objects.get(pk=story.visit.pk).version
    return tablet.post(_at(name, story.visit.pk), {"version": version, **data}, **extra)


def test_the_answers_lead_to_the_hair(story: Story, tablet: Browser) -> None:
    response = _post(tablet, "safety", story, NO_TO_ALL)

    assert response.headers["Location"] == _at("hair", story.visit.pk)
    assert story.visit.client.safety_answers.count() == len(QUESTIONS)


def test_an_unanswered_question_keeps_the_answers_given(story: Story, tablet: Browser) -> None:
    given = {**NO_TO_ALL, "metallic": "yes", "scalp": ""}

    response = _post(tablet, "safety", story, given)

    assert response.status_code == 422
    assert "Ask this question before colour." in response.text
    assert 'value="yes" required id="id_metallic_1" checked' in response.text
    assert not story.visit.client.safety_answers.exists()


def test_every_question_is_asked_in_its_group_and_in_its_order(story: Story) -> None:
    keys = [key for _title, group in SAFETY_GROUPS for key in group]

    assert keys == [question.key for question in QUESTIONS]


@pytest.mark.parametrize(
    ("last", "together"), [({}, [True] * 4), ({"skin": "yes"}, [True, True, False, True])]
)
def test_only_who_was_asked_before_and_said_no_is_answered_for_with_one_press(
    story: Story, tablet: Browser, last: dict[str, str], together: list[bool]
) -> None:
    new = tablet.get(_at("safety", story.visit.pk))
    story.to_bench().process().see().close()
    again = opened(story.visit.salon, stylist=story.by, at=story.later(60))
    if last:
        again.answer(**last)
        again.answer()

    page = tablet.get(_at("safety", again.visit.pk))

    assert "Asked aloud" not in new.text
    groups = page.context["form"].groups()
    assert [group.may_answer_together for group in groups] == together
    assert page.text.count("data-together") == sum(together)
    assert last or "checked" not in page.text[page.text.index('id="safety"') :]


def test_a_forbidding_answer_stops_with_its_advice(story: Story, tablet: Browser) -> None:
    response = tablet.post(
        _at("safety", story.visit.pk),
        {"version": 1, **NO_TO_ALL, "scalp": "yes"},
        follow=True,
    )

    assert "Colour cannot start" in response.text
    assert "Wait until the skin has healed" in response.text
    assert response.redirect_chain[-1][0] == _at("safety", story.visit.pk)
    story.visit.refresh_from_db()
    assert facts_of(story.visit, at=timezone.now()).due == Step.SAFETY


def test_a_reading_is_saved_with_same_as_the_zone_before(story: Story, tablet: Browser) -> None:
    story.answer()
    page = tablet.get(_at("hair", story.visit.pk))
    roots, mid_lengths, ends = page.context["form"].zones
    assert "same" not in roots.fields
    for zone, words in (mid_lengths, "Same as the roots"), (ends, "Same as the mid-lengths"):
        assert zone["same"].label == words  # side by side, "above" would say nothing
        assert page.text.count(words) == 1

    response = _post(tablet, "hair", story, _hair(**{"roots-lifted_level": "8,5"}))

    assert response.headers["Location"] == _at("choice", story.visit.pk)
    levels = story.visit.zone_readings.values_list("zone", "lifted_level")
    assert set(levels) == {
        ("roots", Decimal("8.5")),
        ("mid_lengths", Decimal("8.5")),
        ("ends", Decimal("8.5")),
    }


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("roots-lifted_level", "7.3"),
        ("roots-lifted_level", "11"),
        ("roots-lifted_level", "NaN"),
        ("roots-lifted_level", "1e400"),
        ("roots-lifted_level", ""),
        ("roots-natural_level", ""),
        ("roots-undertone", ""),
        ("roots-white_percent", ""),
        ("roots-porosity", ""),
        ("length", ""),
        ("density", ""),
        ("roots-natural_level", "0"),
        ("roots-undertone", "1.5"),
        ("roots-white_percent", "-1"),
        ("roots-white_percent", "100.5"),
        ("roots-porosity", "0.25"),
        ("roots-note", "x" * 201),
        ("texture", "silk"),
    ],
)
def test_a_reading_off_the_scale_is_refused_and_kept(
    story: Story, tablet: Browser, field: str, value: str
) -> None:
    story.answer()

    response = _post(tablet, "hair", story, _hair(**{field: value, "scalp": "as typed"}))

    assert response.status_code == 422
    assert "errorlist" in response.text
    assert "as typed" in response.text
    assert not story.visit.zone_readings.exists()


def test_a_first_reading_is_empty(story: Story, tablet: Browser) -> None:
    story.answer()

    page = tablet.get(_at("hair", story.visit.pk))

    for zone in page.context["form"].zones:
        assert not any(zone[name].value() for name in LOOKED_AT)
    assert "washes_since_toner" not in page.context["form"].facts.fields  # nothing to ask of


def _again(story: Story) -> Story:
    """Return the next visit of the story's client, at its reading."""
    story.to_end()
    return opened(story.visit.salon, stylist=story.by, at=story.later(60)).answer()


def test_what_is_carried_over_counts_once_it_is_confirmed(
    story: Story, tablet: Browser
) -> None:
    again = _again(story)
    as_before = _hair(washes_answer="not_asked")

    untouched = _post(tablet, "hair", again, as_before)
    rows = again.visit.zone_readings
    found_before = rows.count()
    confirmed = {f"{zone}-confirmed": "on" for zone in ("mid_lengths", "ends")}
    _post(tablet, "hair", again, {**as_before, **confirmed, "roots-lifted_level": "8"})

    assert (untouched.status_code, found_before) == (422, 0)
    assert untouched.text.count("Confirm it, or change what is different.") == 3
    assert set(rows.values_list("zone", "carried_from")) == {
        ("roots", None),
        ("mid_lengths", story.visit.pk),
        ("ends", story.visit.pk),
    }


@pytest.mark.parametrize(
    ("answers", "expected"),
    [
        ({}, None),
        ({"washes_since_toner": "9" * 40}, None),
        ({"washes_since_toner": "6", "washes_answer": "not_asked"}, None),
        ({"washes_since_toner": "6"}, ("counted", 6)),
        ({"washes_answer": "none_left"}, ("none_left", None)),
        ({"washes_answer": "not_asked"}, ("not_asked", None)),
    ],
)
def test_washes_are_asked_and_never_invented(
    story: Story, tablet: Browser, answers: dict[str, object],
    expected: tuple[object, ...] | None
) -> None:  # fmt: skip
    again = _again(story)
    looked = {f"{zone}-confirmed": "on" for zone in ("roots", "mid_lengths", "ends")}

    response = _post(tablet, "hair", again, _hair(**looked, **answers))

    row = again.visit.hair_facts.first()
    told = (row.washes_answer, row.washes_since_toner) if row else None
    assert (response.status_code == 422, told) == (expected is None, expected)
    if expected and expected[0] == "not_asked":
        assert present(row).washes_counted is not None
        assert not starting_values.next_visit(again.visit, at=again.at).own_washes


def test_a_choice_posts_an_aim_and_the_server_computes(story: Story, tablet: Browser) -> None:
    story.answer().read()

    response = _post(tablet, "choice", story, {field_name(ALL): "40"})

    assert response.headers["Location"] == _at("sign", story.visit.pk)
    place = story.visit.choices.get().places.get()
    assert abs(place.predicted["warmth_left_percent"]["value"] - 40) < 15
    assert place.predicted["warmth_left_percent"]["low"] < place.warmth_aim_percent


@pytest.mark.parametrize("aim", ["", "warm", "NaN", "1e9", "-201"])
def test_an_aim_that_makes_no_sense_is_refused(story: Story, tablet: Browser, aim: str) -> None:
    story.answer().read()

    response = _post(tablet, "choice", story, {field_name(ALL): aim})

    assert response.status_code == 422
    assert not story.visit.choices.exists()


def _signing(story: Story, **changes: Any) -> dict[str, Any]:
    return {
        "choice": present(story.visit.choices.last()).pk, "method": "drawn",
        "signed_name": "Ada Brandt", "signature_strokes": SIGNATURE, "has_understood": "on",
        **changes,
    }  # fmt: skip


def test_a_drawn_signature_leads_to_the_formula(story: Story, tablet: Browser) -> None:
    story.answer().read()
    story.choose()

    response = _post(tablet, "sign", story, _signing(story))

    assert response.headers["Location"] == _at("formula", story.visit.pk)
    assert story.visit.sign_offs.get().method == "drawn"


@pytest.mark.parametrize(
    "changes",
    [
        {"signed_name": ""},
        {"signature_strokes": ""},
        {"has_understood": ""},
        {"method": "stamp"},
        {"choice": "x"},
        {"choice": "9" * 30},
        {"signed_name": "x" * 121},
    ],
)
def test_an_empty_sign_off_is_refused(
    story: Story, tablet: Browser, changes: dict[str, object]
) -> None:
    story.answer().read()
    story.choose()

    response = _post(tablet, "sign", story, _signing(story, **changes))

    assert response.status_code == 422
    assert not story.visit.sign_offs.exists()


def _mix(story: Story, **changes: Any) -> dict[str, Any]:
    mix = present(story.visit.choices.last()).places.get().shown["chosen"]
    shades = {shade.name: shade.pk for shade in story.visit.line.shades.all()}
    parts = {f"parts-{shades[n]}": part for n, part in mix["parts"]}
    return {"zones": ALL, "bowl_grams": "60", "minutes": "20", **parts, **changes}
