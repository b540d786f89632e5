"""The words that a client signs: the owner's own, versioned, checked and frozen."""

import datetime as dt
import json
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.urls import reverse
from django.utils import translation
from hypothesis import given, settings
from hypothesis import strategies as st

from consult import services
from consult.agreement import wordings
from consult.models import StatementWording
from salon.append_only import AppendOnlyError
from salon.models import Salon, Staff
from tests.factories.consult import Story, owner_of
from tests.typed import SignIn

OWN = "{zones}: {warmth_words} {deeper} levels deeper, {deeper_low} to {deeper_high}."
ADDRESS = "/wording/"


@pytest.fixture
def owner(salon: Salon) -> Staff:
    return owner_of(salon)


def _revised(owner: Staff, story_at: dt.datetime, **changes: Any) -> StatementWording:
    told = {"language": "en-gb", "statement": OWN, "understandings": "One.\n\nTwo.", **changes}
    return services.revise_wording(by=owner, at=story_at, **told)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("{deeper", "brace"),
        ("}" + OWN, "brace"),
        (OWN + " {price}", "Unknown: {price}"),
        (OWN + " {}", "Unknown"),
        (OWN + " {zones.__class__}", "Unknown"),
        (OWN + " {0}", "Unknown"),
        (OWN + " {level:>99}", "only a name"),
        (OWN + " {level!r}", "only a name"),
        (OWN.replace("{deeper_low} to {deeper_high}", ""), "{deeper_low}, {deeper_high}"),
        (OWN.replace("{warmth_words}", "{warmth}"), "or all of {warmth}"),
        ("We make you lovely.", "how much deeper"),
    ],
)
def test_words_that_leave_out_or_break_a_number_are_refused(text: str, why: str) -> None:
    assert why in " ".join(wordings.problems_of(text))


def test_the_numbers_of_the_warmth_serve_as_well_as_the_sentence() -> None:
    text = OWN.replace("{warmth_words}", "{warmth}: {warmth_low} to {warmth_high}")

    assert wordings.problems_of(text) == []


@settings(deadline=None, max_examples=60, derandomize=True)
@given(st.text("{}!:abdeprwz_[]. ", max_size=80))
def test_words_of_anything_are_filled_or_refused(text: str) -> None:
    text = OWN + text

    if not wordings.problems_of(text):
        assert wordings.filled(text, wordings.example_values())


def test_doubled_braces_are_shown_as_braces() -> None:
    text = OWN + " {{note}}"

    assert wordings.problems_of(text) == []
    assert wordings.filled(text, wordings.example_values()).endswith("{note}")


@pytest.mark.parametrize("language", ["en-gb", "de"])
def test_the_built_in_words_may_be_edited_as_they_are(language: str) -> None:
    texts = wordings.built_in_texts(language)

    assert wordings.problems_of(texts["statement"]) == []
    with translation.override(language):
        shown = wordings.statement_for(None, **wordings.EXAMPLE)
        assert wordings.filled(texts["statement"], wordings.example_values()) == shown


def test_only_an_owner_changes_the_words(story: Story) -> None:
    with pytest.raises(PermissionDenied):
        _revised(story.by, story.at)


def test_numbers_count_on_from_the_built_in_ones(story: Story, owner: Staff) -> None:
    numbers = [_revised(owner, story.at).number for _n in range(2)]

    assert numbers == [2, 3]
    assert wordings.in_force(owner.salon).number == 3  # type: ignore[union-attr]


def test_a_language_without_own_words_takes_the_english_ones(
    story: Story, owner: Staff
) -> None:
    assert wordings.in_force(owner.salon, "de") is None

    english = _revised(owner, story.at)
    assert wordings.in_force(owner.salon, "de") == english
    german = _revised(owner, story.at, language="de")

    assert wordings.in_force(owner.salon, "de") == german
    assert wordings.in_force(owner.salon, "de-at") == german
    assert wordings.in_force(owner.salon, "fr") == english


def test_another_salons_words_are_not_taken(
    story: Story, other_salon: Salon, salon: Salon
) -> None:
    _revised(owner_of(other_salon), story.at)

    assert wordings.in_force(salon) is None


def test_a_sign_off_freezes_the_words_and_their_number(story: Story, owner: Staff) -> None:
    own = _revised(owner, story.at)
    story.answer().read()
    choice = story.choose()
    _revised(owner, story.at, statement="Later: " + OWN, understandings="Three.")

    frozen = json.loads(story.sign().snapshot)

    assert choice.wording == own
    assert frozen["wording_version"] == "2"
    assert frozen["wording_language"] == "en-gb"
    assert frozen["understandings"] == ["One.", "Two."]
    assert frozen["places"][0]["statement"].startswith("All of the hair: ")
    assert "levels deeper, " in frozen["places"][0]["statement"]


def test_without_own_words_the_built_in_number_is_frozen(story: Story) -> None:
    story.answer().read()
    story.choose()

    frozen = json.loads(story.sign().snapshot)

    assert frozen["wording_version"] == "1.5"
    assert len(frozen["understandings"]) == 4


def test_words_are_append_only_and_say_something(story: Story, owner: Staff) -> None:
    row = _revised(owner, story.at)
    with pytest.raises(AppendOnlyError):
        row.save()
    for changes, name in (
        ({"number": 1}, "wording_number_after_built_in"),
        ({"number": 9, "statement": ""}, "wording_says_something"),
        ({}, "wording_number_once|consult_statementwording"),
    ):
        fields = {
            name: getattr(row, name)
            for name in ("salon", "language", "number", "statement", "understandings")
        }
        told = {**fields, "recorded_at": story.at, "recorded_by": owner, **changes}
        with pytest.raises(IntegrityError, match=name), transaction.atomic():
            StatementWording(**told).save()


def _form(**changes: str) -> dict[str, str]:
    return {"number": "0", "statement": OWN, "understandings": "One.", **changes}


def test_the_owner_looks_saves_and_sees_the_earlier_words(
    owner: Staff, client_for: SignIn
) -> None:
    laptop = client_for(owner)
    assert "It will look about {deeper} levels deeper" in laptop.get(ADDRESS).text

    looked = laptop.post(ADDRESS, _form(act="preview", understandings="Only looked at."))
    assert looked.status_code == 200
    assert "1.4 levels deeper, 0.9 to 1.9." in looked.text
    assert not StatementWording.objects.exists()

    assert laptop.post(ADDRESS, _form(act="save")).status_code == 302
    page = laptop.get(ADDRESS).text
    assert "Version 2 has been in force since" in page
    assert "{deeper_low} to {deeper_high}." in page


def test_a_text_that_cannot_be_signed_is_kept_on_the_page(
    owner: Staff, client_for: SignIn
) -> None:
    for changes in (
        {"statement": "We make you {lovely}."},
        {"statement": ""},
        {"understandings": "\n".join("abcdefghi")},
        {"understandings": "x" * 2401},
        {"number": "one"},
    ):
        answer = client_for(owner).post(ADDRESS, _form(**changes))

        assert answer.status_code == 422, changes
    assert not StatementWording.objects.exists()


def test_the_second_of_two_owners_keeps_what_was_typed(
    story: Story, owner: Staff, client_for: SignIn
) -> None:
    _revised(owner, story.at)

    answer = client_for(owner).post(ADDRESS, _form(understandings="Mine."))

    assert answer.status_code == 409
    assert "Mine." in answer.text
    assert 'name="number" value="2"' in " ".join(answer.text.split())


def test_the_client_signs_the_salons_own_words(
    story: Story, owner: Staff, tablet: Browser
) -> None:
    _revised(owner, story.at, understandings="I have been told.")
    story.answer().read()
    story.choose()

    page = tablet.get(reverse("consult:sign", args=[story.visit.pk])).text

    assert "I have been told." in page
