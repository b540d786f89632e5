"""The pages of tests and steps, and the safety questions as they are asked."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse

from consult import selectors
from consult.models import PreTest, PreTestKind, VisitStep
from consult.visit.path import Step
from tests.factories.consult import NO_TO_ALL, Story
from tests.factories.preparation import hair_tested


def _at(name: str, *args: int) -> str:
    return reverse(f"consult:{name}", args=args)


# The pages


def test_the_page_shows_each_procedure_and_records_a_result(
    story: Story, tablet: Browser
) -> None:
    address = _at("pre_tests", story.visit.pk)
    page = tablet.get(address).text
    assert page.count("procedure__steps") == len(PreTestKind)
    assert "Common practice, no source." in page

    answer = tablet.post(
        address,
        {"version": 1, "kind": "elasticity", "zone": "ends", "result": "slow", "note": "wet"},
    )

    assert answer.headers["Location"] == address
    assert "comes back slowly" in tablet.get(address).text
    assert "comes back slowly" in tablet.get(_at("visit", story.visit.pk)).text


@pytest.mark.parametrize(
    "data",
    [
        {"kind": "elasticity"},
        {"kind": "elasticity", "result": "clear"},
        {"kind": "taste", "result": "sweet"},
        {},
    ],
)
def test_a_result_that_is_none_is_refused(
    story: Story, tablet: Browser, data: dict[str, object]
) -> None:
    answer = tablet.post(_at("pre_tests", story.visit.pk), {"version": 1, **data})

    assert answer.status_code == 422
    assert not PreTest.objects.exists()


def test_a_stop_is_shown_on_every_page_of_the_visit(story: Story, tablet: Browser) -> None:
    story.answer().read()
    hair_tested(story, "incompatibility", "reacted")

    for name in ("visit", "safety", "hair", "choice", "pre_tests", "steps"):
        page = tablet.get(_at(name, story.visit.pk)).text
        assert "The hair or scalp rules out colour today" in page


def _step(**changes: Any) -> dict[str, Any]:
    return {
        "version": 1,
        "kind": "lightening",
        "product": "Blue powder",
        "zones": ["roots", "ends"],
        "developer_percent": "6",
        "developer_ratio": "1.5",
        "minutes": "30",
        "level_reached": "8,5",
        **changes,
    }


def test_a_step_is_typed_corrected_and_taken_back(story: Story, tablet: Browser) -> None:
    address = _at("steps", story.visit.pk)

    assert tablet.post(address, _step()).status_code == 302
    first = VisitStep.objects.get()
    assert (first.zones, first.level_reached) == ("roots,ends", Decimal("8.5"))
    correct = _at("correct_step", story.visit.pk, first.pk)
    assert 'value="Blue powder"' in tablet.get(correct).text
    assert tablet.post(correct, _step(version=2, minutes="40")).status_code == 302
    second = selectors.steps_in_force(story.visit)[0]
    assert second.minutes == 40
    back = _at("take_back_step", story.visit.pk, second.pk)
    assert tablet.post(back, {"version": 1}).status_code == 409
    assert tablet.post(back, {"version": 3}).status_code == 302
    assert selectors.steps_in_force(story.visit) == []


@pytest.mark.parametrize(
    "changes",
    [
        {"product": " "},
        {"zones": []},
        {"zones": ["beard"]},
        {"developer_percent": "", "developer_ratio": "2"},
        {"developer_percent": "40", "developer_ratio": "1"},
        {"minutes": "1e9"},
        {"level_reached": "8.3"},
        {"started": "23:59"},
        {"started": "25:00"},
    ],
)
def test_a_step_typed_wrong_is_refused_and_kept_on_the_page(
    story: Story, tablet: Browser, changes: dict[str, object]
) -> None:
    answer = tablet.post(
        _at("steps", story.visit.pk), _step(**{"note": "kept text", **changes})
    )

    assert answer.status_code == 422
    assert "kept text" in answer.text
    assert not VisitStep.objects.exists()


def test_a_forbidding_answer_of_the_occupational_set_stops(story: Story) -> None:
    """UK NOS and Australia's units ask for infections and infestations."""
    story.answer(infection="yes")

    story.visit.refresh_from_db()
    assert story.facts.due == Step.SAFETY


def test_pregnancy_advises_and_may_be_left_open(story: Story, tablet: Browser) -> None:
    for answer in ("yes", "skipped", ""):
        told = {**NO_TO_ALL, "pregnancy": answer}
        story.visit.refresh_from_db()
        data = {"version": story.visit.version, **told}
        assert tablet.post(_at("safety", story.visit.pk), data).status_code == 302

    story.visit.refresh_from_db()
    assert story.facts.due == Step.HAIR
    kept = story.visit.client.safety_answers.filter(question="pregnancy").order_by("pk")
    assert [row.answer for row in kept] == ["yes", "skipped", "skipped"]


def test_a_changed_answer_keeps_the_earlier_one_and_both_dates(
    story: Story, tablet: Browser
) -> None:
    story.answer(scalp="yes")
    first = story.at
    story.answer()

    rows = story.visit.client.safety_answers.filter(question="scalp").order_by("pk")

    assert [(row.answer, row.answered_at) for row in rows] == [
        ("yes", first),
        ("no", story.at),
    ]
    assert "Before that: yes" in tablet.get(_at("safety", story.visit.pk)).text
