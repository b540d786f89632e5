"""A later reading stands on the scale of the earlier one."""

import pytest

from formulas.engine import Chart, Zone
from formulas.engine.visits.fading import read_again

CHART = Chart.default()


@pytest.mark.parametrize("level", [5.0, 7.0, 8.5, 10.0])
@pytest.mark.parametrize("white", [0.0, 30.0])
def test_hair_that_reads_as_before_has_all_its_warmth_again(level: float, white: float) -> None:
    zone = Zone(level, undertone=0.3, white_percent=white)

    _depth, warmth = read_again(zone, then=zone, chart=CHART)

    # Hair whose warmth barely shows starts below 100 (`appearance.SMALLEST_SHARE`).
    assert warmth == pytest.approx(100.0) or white or level == 10.0
    assert warmth <= 100.0 + 1e-9


def test_a_lower_reading_is_deeper_and_a_higher_one_lighter() -> None:
    then = Zone(8.0)

    depths = [read_again(Zone(level), then=then, chart=CHART)[0] for level in (7.0, 8.0, 9.0)]

    assert depths == sorted(depths)
    assert depths[0] < depths[1] < depths[2]
