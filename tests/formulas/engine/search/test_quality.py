"""The table of how close a line comes to the limit, and the benchmark's own parts."""

import numpy as np
import pytest

from formulas import engine
from formulas.engine.cli import benchmark
from formulas.engine.search.quality import quality
from tests.formulas.engine.lines_for_tests import LINE


def test_no_gap_is_negative_and_cooler_costs_more() -> None:
    rows = quality(LINE, levels=(6.5, 8.0), aims=(70.0, 40.0, 10.0))

    assert [(row.level, row.warmth_percent) for row in rows[:3]] == [
        (6.5, 70.0), (6.5, 40.0), (6.5, 10.0),
    ]  # fmt: skip
    assert all(row.gap_levels is not None and row.gap_levels >= 0 for row in rows)
    assert rows[0].limit_levels < rows[1].limit_levels < rows[2].limit_levels


def test_a_base_too_warm_for_the_line_has_no_gap() -> None:
    (row,) = quality(LINE, levels=(5.0,), aims=(-100.0,))

    assert row.best_levels is None
    assert row.gap_levels is None


def test_an_absurd_aim_is_named() -> None:
    with pytest.raises(ValueError, match=r"aims \[% warmth\]"):
        quality(LINE, levels=(8.0,), aims=(float("nan"),))


@pytest.mark.parametrize("count", [20, 60, 80])
def test_the_benchmark_measures_lines_of_the_size_it_says(count: int) -> None:
    assert len(benchmark.line_of(count).shades) == count


def test_the_bare_work_is_the_searchs_own(capsys: pytest.CaptureFixture[str]) -> None:
    result = engine.search(engine.Zone(7.5), benchmark.line_of(12))

    ks = benchmark.all_ks(result)
    ((wall, used),) = benchmark.in_turn([ks.sum], 2)
    benchmark.row("name", "1", "2")

    assert ks.shape == (result.space.size, 31)
    assert (ks >= 1.0).all()
    assert np.isfinite([wall, used]).all()
    assert "name" in capsys.readouterr().out
