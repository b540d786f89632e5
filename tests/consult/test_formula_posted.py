"""The formula as it is posted, and forms that are stale."""

import uuid

import pytest
from django.test import Client as Browser

from consult.models import Visit
from tests.consult.test_forms_posted import ALL, _at, _hair, _mix, _post
from tests.factories.consult import NO_TO_ALL, Story
from tests.typed import present


@pytest.fixture
def signed(story: Story) -> Story:
    story.answer().read()
    story.choose()
    story.sign()
    return story


def test_a_formula_leads_to_the_bench(signed: Story, tablet: Browser) -> None:
    response = _post(tablet, "formula", signed, _mix(signed))

    assert response.headers["Location"] == _at("bench", signed.visit.pk)
    formula = signed.visit.formulas.get()
    assert formula.engine_version == signed.visit.choices.get().engine_version
    assert formula.data_version
    assert set(formula.predicted) == {ALL}


@pytest.mark.parametrize("part", ["-1", "x", "1e9", "NaN", "21"])
def test_parts_of_zero_or_below_or_nonsense_are_refused(
    signed: Story, tablet: Browser, part: str
) -> None:
    pk = present(signed.visit.line.shades.first()).pk

    response = _post(tablet, "formula", signed, _mix(signed, **{f"parts-{pk}": part}))

    assert response.status_code == 422
    assert not signed.visit.formulas.exists()


def test_no_parts_at_all_are_refused_in_words(signed: Story, tablet: Browser) -> None:
    data = {"zones": ALL, "bowl_grams": "60", "minutes": "20"}

    response = _post(tablet, "formula", signed, data)

    assert response.status_code == 422
    assert "Enter parts for at least one shade." in response.text


def test_the_prediction_follows_the_mix(signed: Story, tablet: Browser) -> None:
    clear = signed.visit.line.shades.get(name="clear").pk
    data = {"zones": ALL, "bowl_grams": "60", "minutes": "20", f"parts-{clear}": "1"}

    response = tablet.post(_at("prediction", signed.visit.pk), data)

    assert response.status_code == 200
    assert "1 part clear" in response.text
    assert "Not what the client signed." in response.text
    assert not signed.visit.formulas.exists()


def test_the_prediction_of_nothing_says_why(signed: Story, tablet: Browser) -> None:
    response = tablet.post(_at("prediction", signed.visit.pk), {"zones": ALL})

    assert response.status_code == 422


def test_a_double_press_writes_once(signed: Story, tablet: Browser) -> None:
    key = {"once": str(uuid.uuid4())}

    first = _post(tablet, "formula", signed, {**_mix(signed), **key})
    second = _post(tablet, "formula", signed, {**_mix(signed), **key})

    assert first.headers["Location"] == second.headers["Location"]
    assert signed.visit.formulas.count() == 1


def test_two_tablets_on_one_visit_lose_nothing(story: Story, tablet: Browser) -> None:
    """The second form was opened before the first one was saved."""
    seen = story.visit.version
    story.answer()
    story.read()

    response = tablet.post(
        _at("hair", story.visit.pk),
        {"version": seen, **_hair(**{"roots-note": "banding at the crown"})},
    )

    assert response.status_code == 409
    assert "Someone else has worked on this visit since you opened it" in response.text
    assert "hair read" in response.text
    assert "banding at the crown" in response.text
    fresh = Visit.objects.get(pk=story.visit.pk).version
    assert f'name="version" value="{fresh}"' in response.text
    assert story.visit.zone_readings.count() == 3


@pytest.mark.parametrize("version", ["", "x", "-1", "٣", "9" * 20])
def test_a_version_of_nonsense_is_a_stale_form(
    story: Story, tablet: Browser, version: str
) -> None:
    response = tablet.post(_at("safety", story.visit.pk), {"version": version, **NO_TO_ALL})

    assert response.status_code == 409
    assert not story.visit.client.safety_answers.exists()
