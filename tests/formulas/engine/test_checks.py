"""Numbers that are none are refused by name, with what may be given."""

import pytest

from formulas.engine import checks


@pytest.mark.parametrize(
    "given", [None, "three", "", True, 2.5, float("nan"), float("inf"), 0, 5]
)
def test_what_is_no_whole_number_in_range_is_refused(given: object) -> None:
    with pytest.raises(checks.EngineRefusal, match=r"max_shades \[count\] must be whole") as no:
        checks.whole(given, name="max_shades", low=1, high=4)

    assert no.value.code == "range"
    assert no.value.values == {"name": "max_shades", "low": 1, "high": 4}


@pytest.mark.parametrize("given", [3, 3.0, "3"])
def test_a_whole_number_may_be_written_as_one_likes(given: object) -> None:
    assert checks.whole(given, name="max_shades", low=1, high=4) == 3


@pytest.mark.parametrize("given", [None, "deep", object()])
def test_what_is_no_number_is_refused(given: object) -> None:
    with pytest.raises(checks.EngineRefusal, match=r"level \[level\] must be a number") as no:
        checks.number(given, name="level", unit="level", low=1, high=10)

    assert no.value.code == "no_number"
