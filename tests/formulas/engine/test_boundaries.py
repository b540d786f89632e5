"""Numbers at their very edge: where a slip of one sign would go unseen elsewhere."""

import os
import subprocess
import sys

import numpy as np
import pytest

from formulas import engine
from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.reading import _NEAR_YELLOW, FastReader
from formulas.engine.light.colorimetry import lab_to_xyz
from formulas.engine.light.grid import white
from formulas.engine.search.reasons import reasons
from formulas.engine.visits.hierarchy import shortened
from tests.formulas.engine.lines_for_tests import LINE

CHART = engine.Chart.default()


@pytest.mark.parametrize(("bowls", "code"), [(1.99, "last_bowl"), (2.0, "bowls_in_stock")])
def test_two_bowls_in_stock_are_enough_for_one_more(bowls: float, code: str) -> None:
    mix = engine.search(engine.Zone(8), LINE, max_shades=1).frontier[0]

    said = reasons(mix, distance=0.0, gap=0.0, cost=None, bowls=bowls, near=2.0)

    assert said[-1].code == code


def test_stock_for_one_more_bowl_leads_among_mixes_alike() -> None:
    """Enough for exactly two bowls counts as one more; a gram less does not."""
    names = ("8 violet", "8 violet-blue")
    colour = engine.search(engine.Zone(8), LINE).colour_grams

    def bowls(grams: float) -> list[float | None]:
        stock = dict.fromkeys(names, grams)
        result = engine.search(engine.Zone(8), LINE, max_shades=1, grams_in_stock=stock)
        return [one.bowls_in_stock for one in engine.rank(result, [20.0])[0]]

    assert bowls(2 * colour) == pytest.approx([2.0, 2.0])
    assert all(found is not None and found < 2 for found in bowls(2 * colour - 1))


@pytest.mark.parametrize("take", [0.3, 3.0])
def test_a_client_s_take_has_its_range(take: float) -> None:
    assert engine.Zone(8, take=take).take == take
    with pytest.raises(engine.EngineRefusal, match="take") as caught:
        engine.Zone(8, take=take * (1.01 if take > 1 else 0.99))
    assert (caught.value.values["low"], caught.value.values["high"]) == (0.3, 3)


def test_a_step_of_learning_is_half_a_logarithm_at_most() -> None:
    np.testing.assert_allclose(
        shortened(np.array([-2.0, -0.4, 0.5, 3.0])), [-0.5, -0.4, 0.5, 0.5]
    )


def test_near_yellow_the_reader_is_off_by_no_more_than_it_says() -> None:
    """Around h = 90 the half sine is a difference of equals: single precision loses digits."""
    axes = np.meshgrid(
        np.linspace(5, 95, 60), np.linspace(5, 90, 60), np.geomspace(1e-3, 0.1, 12)
    )
    lightness, chroma, red = (axis.ravel() for axis in axes)
    lab = np.stack([lightness, red, chroma], axis=-1)
    judge = Judge(np.array([96.0, 0.0, 33.0]), np.array([71.0, 3.0, 33.0]), CHART)
    reader = FastReader(judge, len(lab))
    xyz = np.ascontiguousarray((lab_to_xyz(lab) / white()).T.astype(np.float32))
    warmth, light = np.empty(len(lab), np.float32), np.empty(len(lab), np.float32)

    reader.read(xyz, warmth, light)

    off = np.abs(light - engine.perceived_lightness(lab)).max()
    said = reader.tolerance()[1]
    assert said - _NEAR_YELLOW < off <= said  # without that allowance it would say too little


def test_one_thread_multiplies_matrices_unless_told_otherwise() -> None:
    """In the command line and the benchmark, too: set before numpy is loaded."""
    plain = {k: v for k, v in os.environ.items() if k != "OPENBLAS_NUM_THREADS"}
    code = (
        "import sys, os; import formulas.engine.cli.benchmark; "
        "print(os.environ['OPENBLAS_NUM_THREADS'])"
    )

    found = subprocess.run(
        [sys.executable, "-c", code], env=plain, capture_output=True, text=True, check=True
    )

    assert found.stdout.strip() == "1"
