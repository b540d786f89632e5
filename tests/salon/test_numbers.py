"""Numbers as typed and as shown: "12,5" is never read as 125."""

from decimal import Decimal

import pytest
from django import forms
from django.utils import translation

from salon.numbers import Number, WholeNumber
from salon.widgets import Stepper


class Sheet(forms.Form):
    grams = Number(min_value=Decimal("0.1"), max_value=999, decimal_places=1, widget=Stepper())


@pytest.mark.parametrize("language", ["en-gb", "de"])
@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("12,5", "12.5"),
        ("12.5", "12.5"),
        (" 12,50 ", "12.5"),
        ("١٢٫٥", "12.5"),
        ("12", "12"),
        ("0,1", "0.1"),
    ],
)
def test_a_point_and_a_comma_mean_the_same_in_every_language(
    language: str, typed: str, read: str
) -> None:
    with translation.override(language):
        assert Number(max_digits=5).clean(typed) == Decimal(read)


@pytest.mark.parametrize("typed", ["1,2,5", "1.200,5", "12;5", "zwölf", "NaN", "1e99", "--1"])
def test_what_could_mean_two_numbers_is_refused(typed: str) -> None:
    with translation.override("de"), pytest.raises(forms.ValidationError):
        Number().clean(typed)


def test_minus_signs_of_every_kind_are_read() -> None:
    assert WholeNumber().clean("−5") == -5
    assert Number().clean("-0,5") == Decimal("-0.5")


@pytest.mark.parametrize(("language", "shown"), [("en-gb", "12.5"), ("de", "12,5")])
def test_a_field_shows_the_reader_s_own_separator(language: str, shown: str) -> None:
    with translation.override(language):
        drawn = str(Sheet(initial={"grams": Decimal("12.5")})["grams"])

    assert f'value="{shown}"' in drawn
    assert f'data-decimal="{shown[2]}"' in drawn
    assert 'type="text"' in drawn  # Chromium drops the comma of a number field it cannot read


def test_limits_stay_machine_readable_in_german() -> None:
    with translation.override("de"):
        drawn = str(Sheet()["grams"])

    assert 'data-min="0.1"' in drawn
    assert 'aria-valuemin="0.1"' in drawn
    assert " min=" not in drawn


def test_typed_text_is_kept_where_it_is_refused() -> None:
    with translation.override("de"):
        form = Sheet({"grams": "12,5,1"})

        assert not form.is_valid()
        assert 'value="12,5,1"' in str(form["grams"])
