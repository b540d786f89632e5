"""Ranges and learning in invented salons, where the truth is known; seeds are fixed.

The salons' physics: a surface that reflects 2 to 4 % (Saunderson 1942, J. Opt. Soc. Am. 32:727,
from memory), bands 8 nm elsewhere, deposit that grows as concentration to the power 0.9 to 1.1.
"""

from typing import Any

import numpy as np
import pytest

from formulas import engine
from formulas.engine.cli.simulate import other_physics
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_ks, to_reflectance
from formulas.engine.toner.shades import white_hair_ks
from formulas.engine.visits.judging import coverage, strength_error
from formulas.engine.visits.observing import Batch
from formulas.engine.visits.simulation import SHADES, Physics, Salon, drawn_strengths
from tests.formulas.engine.lines_for_tests import LINE

READERS = {"one": (0.5, 0.0), "two": (0.0, 0.0), "three": (0.0, 0.0)}


def _random(seed: int) -> np.random.Generator:
    return np.random.default_rng(seed)


def _errors(salons: list[Salon], results: int, **how: object) -> tuple[np.ndarray, np.ndarray]:
    """Return what the line's own and the learned strengths cost, over all salons."""
    found = []
    for salon in salons:
        learned = engine.learn(salon.line, salon.results(results, **how))  # type: ignore[arg-type]
        found.append(strength_error(salon, learned.factors(), cases=60))
    own, learned_error = np.sqrt((np.array(found) ** 2).mean(axis=0))
    return own, learned_error


def _off(count: int, **how: object) -> list[Salon]:
    """Return salons whose shades are off by 15 to 25 %."""
    return [
        Salon(LINE, _random(n), strengths=drawn_strengths(SHADES, _random(n)), **how)  # type: ignore[arg-type]
        for n in range(count)
    ]


@pytest.mark.slow
@pytest.mark.parametrize("measured", [True, False])
def test_ranges_hold_in_another_physics(measured: bool) -> None:
    before, after = coverage(
        lambda n: other_physics(LINE, 1 + n),
        salons=6,
        results=200,
        cases=120,
        measured=measured,
    )

    # At least 90 % before any result, 93 to 97 % after 200 (720 cases: 1 % of chance).
    assert min(before.coverage) >= 0.90
    assert max(before.too_wide) <= 1.5
    assert min(after.coverage) >= 0.93 - 0.01
    assert max(after.too_wide) <= 1.5
    if measured:
        assert max(after.coverage) <= 0.97 + 0.01


@pytest.mark.slow
def test_without_a_true_difference_strengths_are_not_offered() -> None:
    offers = sum(
        engine.learn(LINE, Salon(LINE, _random(n)).results(80, measured=n % 2 == 0)).improves
        for n in range(40)
    )

    assert offers <= 1


@pytest.mark.slow
@pytest.mark.parametrize(("measured", "left"), [(True, 0.5), (False, 2 / 3)])
def test_learning_takes_out_what_wrong_strengths_cost(measured: bool, left: float) -> None:
    own, learned = _errors(_off(4), 150, measured=measured)

    assert np.all(learned <= left * own)


@pytest.mark.slow
def test_true_differences_are_offered() -> None:
    offers = [
        engine.learn(LINE, salon.results(150, measured=True)).improves for salon in _off(5)
    ]

    assert sum(offers) >= 4


@pytest.mark.slow
@pytest.mark.parametrize(
    ("how", "noted"),
    [({}, {"mislabelled": 0.1}), ({"readers": READERS}, {})],
    ids=["one in ten mislabelled", "one reads half a level light"],
)
def test_wrong_labels_and_habits_leave_it_no_worse(
    how: dict[str, Any], noted: dict[str, Any]
) -> None:
    own, learned = _errors(_off(3, **how), 150, **noted)
    assert np.all(learned < own)

    plain = [Salon(LINE, _random(100 + n), **how) for n in range(6)]
    assert not any(engine.learn(LINE, salon.results(80, **noted)).improves for salon in plain)


@pytest.mark.slow
def test_a_readers_habit_is_reported_as_the_readers() -> None:
    salon = Salon(LINE, _random(5), readers=READERS)

    learned = engine.learn(LINE, salon.results(150))

    habits = learned.readers
    assert habits["one"].level.value > 0.2
    assert habits["one"].level.low > 0.0
    for other in ("two", "three"):
        assert habits["one"].level.value > habits[other].level.value + 0.25
    assert all(abs(np.log(one.value)) < 0.2 for one in learned.strengths.values())


@pytest.mark.slow
def test_learning_predicts_each_result_a_few_times_however_many_there_are(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What learning takes is predicting: that many predictions take about a second."""
    results = Salon(LINE, _random(3)).results(150)
    counted = 0
    predicted = Batch.predicted

    def count(batch: Batch, scales: Array) -> Array:
        nonlocal counted
        counted += scales.shape[0] * scales.shape[1]
        return predicted(batch, scales)

    monkeypatch.setattr(Batch, "predicted", count)
    a_result = []
    for some in (results[:30], results):
        counted = 0
        engine.learn(LINE, some)
        a_result.append(counted / len(some))

    assert 0 < a_result[1] <= 150
    assert a_result[1] <= 1.5 * a_result[0]  # rounds differ a little, results do not multiply


def test_saundersons_surface_goes_there_and_back() -> None:
    physics = Physics(surface=0.03)
    reflectance = np.linspace(0.05, 0.9, 30)

    assert physics.outside(physics.inside(reflectance)) == pytest.approx(reflectance)
    assert Physics().outside(to_ks(reflectance)) == pytest.approx(
        to_reflectance(to_ks(reflectance))
    )


def test_the_simulator_without_differences_is_the_engine() -> None:
    salon = Salon(LINE, _random(1), take_spread=0.0)

    for _ in range(5):
        case = salon.case()
        exact = engine.predict(case.true, LINE, case.parts)
        assert case.lab == pytest.approx(exact.dry_lab.value)


def test_another_physics_keeps_each_shade_on_white_hair() -> None:
    """Recalibrated: on white hair, where a shade is defined, nothing may have moved."""
    salon = Salon(LINE, _random(1), Physics(surface=0.03), take_spread=0.0)
    shade = LINE.shade("8 natural")
    chart = engine.Chart.default()

    load = shade.load(chart)
    inside = salon.physics.inside(to_reflectance(white_hair_ks()))
    toned = salon.physics.outside(inside + salon.surface_factor(shade) * load)

    assert reflectance_to_lab(toned) == pytest.approx(
        reflectance_to_lab(to_reflectance(white_hair_ks() + load)), abs=1e-6
    )


def test_true_strengths_leave_no_error() -> None:
    salon = Salon(LINE, _random(4), strengths=drawn_strengths(SHADES, _random(4)))

    own, known = strength_error(salon, salon.strengths, cases=6)

    assert known == pytest.approx([0.0, 0.0], abs=1e-6)
    assert np.all(own > 0.01)


def test_a_drawn_physics_differs_mildly() -> None:
    drawn = [Physics.drawn(_random(seed)) for seed in range(20)]

    assert all(0.02 <= one.surface <= 0.04 for one in drawn)
    assert {one.band_shift_nm for one in drawn} == {-8.0, 8.0}
    assert all(0.9 <= one.exponent <= 1.1 for one in drawn)


def test_mislabelled_results_carry_each_others_bowls() -> None:
    """The same seed gives the same hair, so that only the bowls can differ."""
    noted, wrong = (
        Salon(LINE, _random(8)).results(12, mislabelled=share) for share in (0.0, 1.0)
    )

    assert [one.level for one in noted] == [one.level for one in wrong]
    assert [one.parts for one in wrong] == [one.parts for one in (*noted[1:], noted[0])]


@pytest.mark.parametrize("measured", [True, False])
def test_ranges_hold_in_the_engines_own_physics(measured: bool) -> None:
    before, after = coverage(
        lambda n: Salon(LINE, _random(20 + n)), salons=1, results=6, cases=60, measured=measured
    )

    # 19 in 20 with 60 cases: 2.8 % of chance.
    assert min(before.coverage) >= 0.87
    assert min(after.coverage) >= 0.87
    assert max(before.too_wide) <= 2.0
