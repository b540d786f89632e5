"""Whatever is typed, a form says yes or no in words; it never breaks."""

import datetime as dt

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from consult import wordings
from consult.forms import PreTestForm, StepForm, WordingForm
from consult.models import PreTestKind

NOON = dt.datetime(2026, 11, 25, 12, 0, tzinfo=dt.UTC)
FUZZ = settings(
    deadline=None,
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize=True,
)
TYPED = st.one_of(
    st.text(max_size=40),
    st.text("0123456789.,-+eE−٣ {}!:", max_size=30),
    st.sampled_from(["nan", "1e999999999", "-0", "\x00", "\u202e", "9" * 400, "½", "𝟡"]),
)


@FUZZ
@given(st.fixed_dictionaries(dict.fromkeys(StepForm.base_fields, TYPED)))
def test_a_step_of_anything(data: dict[str, str]) -> None:
    form = StepForm(data, at=NOON)

    assert form.is_valid() or form.errors


@FUZZ
@given(
    st.sampled_from(PreTestKind.values),
    st.fixed_dictionaries(dict.fromkeys(PreTestForm.base_fields, TYPED)),
)
def test_a_result_of_anything(kind: str, data: dict[str, str]) -> None:
    form = PreTestForm(data, kind=kind)

    assert form.is_valid() or form.errors


@FUZZ
@given(st.text("{}!:abdeprwz_[]. ", max_size=80), TYPED)
def test_words_of_anything_are_filled_or_refused(text: str, understood: str) -> None:
    data = {"number": "0", "statement": text + "{deeper}", "understandings": understood}
    form = WordingForm(data)

    if form.is_valid():
        wordings.filled(form.cleaned_data["statement"], wordings.example_values())
    else:
        assert form.errors
