"""A later reading stands on the scale of the earlier one."""

import pytest

from formulas.engine import Chart, Zone
from formulas.engine.visits.fading import read_again
from tests.typed import present

CHART = Chart.default()


@pytest.mark.parametrize("level", [5.0, 7.0, 8.5, 10.0])
@pytest.mark.parametrize("white", [0.0, 5.0])
def test_hair_that_reads_as_before_has_all_its_warmth_again(level: float, white: float) -> None:
    zone = Zone(level, undertone=0.3, white_percent=white)

    _depth, warmth = present(read_again(zone, then=zone, chart=CHART))

    assert warmth == pytest.approx(100.0)


def test_hair_that_shows_little_warmth_has_no_share_of_it() -> None:
    zone = Zone(8.0, white_percent=90.0)

    assert read_again(zone, then=zone, chart=CHART) is None


def test_a_lower_reading_is_deeper_and_a_higher_one_lighter() -> None:
    then = Zone(8.0)

    levels = (7.0, 8.0, 9.0)
    depths = [present(read_again(Zone(one), then=then, chart=CHART))[0] for one in levels]

    assert depths == sorted(depths)
    assert depths[0] < depths[1] < depths[2]
