"""Learning: strengths put in come out again, within the doubt that is stated."""

import itertools

import numpy as np
import pytest

from formulas import engine
from formulas.engine.prediction.prediction import STRENGTH_DOUBT
from tests.formulas.engine.lines_for_tests import LINE

TRUE = {"8 violet": 1.22, "8 natural": 0.86, "9 violet-blue": 1.1, "8 pearl": 0.9}


def _results(
    count: int, *, noise: float = 0.0, seed: int = 1, by_eye: bool = False
) -> list[engine.Observed]:
    """Return results of mixes of shades whose true strengths are not the line's own."""
    random = np.random.default_rng(seed)
    pairs = itertools.cycle(itertools.combinations(TRUE, 2))
    found = []
    for names, level in zip(pairs, itertools.cycle((7.0, 7.5, 8.0, 8.5)), strict=False):
        if len(found) == count:
            break
        zone = engine.Zone(level)
        parts = dict(zip(names, random.integers(1, 4, 2).tolist(), strict=True))
        truth = engine.predict(zone, LINE, parts, strengths=TRUE)
        seen: dict[str, object] = {"lab": truth.dry_lab.value + random.normal(0, noise, 3)}
        if by_eye:
            seen = {
                "level": round(2 * (truth.level.value + random.normal(0, 0.15))) / 2,
                "warmth_left_percent": truth.warmth_left_percent.value + random.normal(0, 8),
            }
        found.append(engine.Observed(zone, parts, **seen))  # type: ignore[arg-type]
    return found


def test_without_results_every_strength_is_the_lines_own() -> None:
    learned = engine.learn(LINE, [])

    assert learned.results == 0
    assert all(strength.value == 1.0 for strength in learned.strengths.values())
    assert set(learned.doubts.values()) == {STRENGTH_DOUBT}
    assert learned.before is None
    assert not learned.improves
    assert learned.factors() == {}


def test_a_shade_never_used_keeps_its_strength_and_its_doubt() -> None:
    learned = engine.learn(LINE, _results(6))

    assert learned.strengths["5 copper"].value == 1.0
    assert learned.doubts["5 copper"] == STRENGTH_DOUBT
    assert "5 copper" not in learned.factors()


def test_true_strengths_are_recovered_from_measured_swatches() -> None:
    learned = engine.learn(LINE, _results(24, noise=0.5))

    for name, true in TRUE.items():
        strength = learned.strengths[name]
        assert strength.low <= true <= strength.high
        assert abs(np.log(strength.value / true)) < 0.7 * abs(np.log(true))
        assert learned.doubts[name] < 0.8 * STRENGTH_DOUBT
    assert learned.strengths["8 violet"].value == pytest.approx(TRUE["8 violet"], rel=0.05)


def test_the_stated_range_holds_about_nineteen_times_of_twenty() -> None:
    inside = []
    for seed in range(12):
        learned = engine.learn(LINE, _results(8, noise=1.5, seed=seed))
        inside += [
            learned.strengths[name].low <= true <= learned.strengths[name].high
            for name, true in TRUE.items()
        ]

    assert np.mean(inside) >= 0.9


def test_results_by_eye_teach_too_if_less() -> None:
    eye = engine.learn(LINE, _results(24, by_eye=True))
    swatch = engine.learn(LINE, _results(24, noise=0.5))

    assert eye.strengths["8 violet"].value > 1.0 > eye.strengths["8 natural"].value
    for name in TRUE:
        assert swatch.doubts[name] < eye.doubts[name] < STRENGTH_DOUBT


def test_leaving_one_out_the_learned_strengths_miss_less() -> None:
    learned = engine.learn(LINE, _results(16, noise=0.5))

    assert learned.before is not None
    assert learned.after is not None
    assert learned.improves
    assert learned.after.levels < learned.before.levels
    assert learned.after.warmth_percent < learned.before.warmth_percent


def test_leaving_one_out_is_what_a_refit_without_it_gives() -> None:
    results = _results(10, noise=0.8)
    errors = []
    for n, left_out in enumerate(results):
        others = engine.learn(LINE, results[:n] + results[n + 1 :])
        read = engine.predict(left_out.zone, LINE, left_out.parts, strengths=others.factors())
        chart = engine.Chart.default()
        judge = engine.Judge(read.start_lab, read.start_lab, chart)
        errors.append(read.level.value - float(judge.level(left_out.lab)))

    learned = engine.learn(LINE, results)

    assert learned.after is not None
    assert learned.after.levels == pytest.approx(np.sqrt(np.mean(np.square(errors))), rel=0.03)


def test_results_of_the_lines_own_strength_change_little_and_promise_nothing() -> None:
    zone = engine.Zone(8)
    random = np.random.default_rng(3)
    results = []
    for name in ("8 violet", "8 natural", "9 pearl") * 3:
        lab = engine.predict(zone, LINE, {name: 1}).dry_lab.value
        results.append(engine.Observed(zone, {name: 1}, lab=lab + random.normal(0, 1.0, 3)))

    learned = engine.learn(LINE, results)

    assert all(abs(np.log(s.value)) < STRENGTH_DOUBT for s in learned.strengths.values())
    assert all(doubt <= STRENGTH_DOUBT for doubt in learned.doubts.values())


def test_the_order_of_results_does_not_matter() -> None:
    results = _results(8, noise=0.5)

    one, other = engine.learn(LINE, results), engine.learn(LINE, results[::-1])

    assert one.factors() == pytest.approx(other.factors(), rel=1e-9)


def test_more_of_the_same_results_narrow_the_range() -> None:
    doubts = [engine.learn(LINE, _results(n, noise=0.5)).doubts["8 violet"] for n in (4, 8, 16)]

    assert doubts[0] > doubts[1] > doubts[2]


def test_a_learned_strength_narrows_the_prediction() -> None:
    learned = engine.learn(LINE, _results(24, noise=0.5))
    zone, parts = engine.Zone(8), {"8 violet": 1}

    wide = engine.predict(zone, LINE, parts)
    narrow = engine.predict(
        zone,
        LINE,
        parts,
        strengths=learned.factors(),
        strength_doubt=learned.doubts["8 violet"],
    )

    assert (
        narrow.levels_deeper_looks.high - narrow.levels_deeper_looks.low
        < wide.levels_deeper_looks.high - wide.levels_deeper_looks.low
    )


@pytest.mark.parametrize(
    ("seen", "named"),
    [
        ({}, "observed"),
        ({"lab": [40.0, 5.0]}, r"lab \[L\*a\*b\*\]"),
        ({"lab": [float("nan"), 5.0, 8.0]}, r"lab \[L\*a\*b\*\]"),
        ({"level": 14.0}, r"level \[level\]"),
        ({"warmth_left_percent": float("inf")}, r"warmth_left_percent \[%\]"),
    ],
)
def test_a_result_that_says_nothing_sound_is_refused(seen: dict, named: str) -> None:
    with pytest.raises(ValueError, match=named):
        engine.Observed(engine.Zone(8), {"8 violet": 1}, **seen)


def test_a_shade_of_another_line_is_named() -> None:
    result = engine.Observed(engine.Zone(8), {"8 unheard-of": 1}, level=7.0)

    with pytest.raises(ValueError, match="8 unheard-of"):
        engine.learn(LINE, [result])
