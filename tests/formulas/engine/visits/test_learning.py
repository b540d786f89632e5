"""Learning: strengths put in come out again, within the doubt that is stated."""

import itertools
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from formulas import engine
from formulas.engine.hair.appearance import read_each
from formulas.engine.prediction.doubts import STRENGTH_DOUBT
from formulas.engine.visits.observing import Beds
from tests.formulas.engine.lines_for_tests import LINE
from tests.typed import present

TRUE = {"8 violet": 1.22, "8 natural": 0.86, "9 violet-blue": 1.1, "8 pearl": 0.9}


def _results(
    count: int, *, noise: float = 0.0, seed: int = 1, by_eye: bool = False, **who: str
) -> list[engine.Observed]:
    """Return results of mixes of shades whose true strengths are not the line's own."""
    random = np.random.default_rng(seed)
    pairs = itertools.cycle(itertools.combinations(TRUE, 2))
    found: list[engine.Observed] = []
    for names, level in zip(pairs, itertools.cycle((7.0, 7.5, 8.0, 8.5)), strict=False):
        if len(found) == count:
            break
        zone = engine.Zone(level)
        parts = dict(zip(names, random.integers(1, 4, 2).tolist(), strict=True))
        truth = engine.predict(zone, LINE, parts, strengths=TRUE)
        seen: dict[str, Any] = {"lab": truth.dry_lab.value + random.normal(0, noise, 3)}
        if by_eye:
            seen = {
                "level": round(2 * (truth.level.value + random.normal(0, 0.15))) / 2,
                "warmth_left_percent": truth.warmth_left_percent.value + random.normal(0, 8),
            }
        found.append(engine.Observed(zone, parts, **seen, **who))  # type: ignore[arg-type]
    return found


def test_without_results_every_strength_is_the_lines_own() -> None:
    learned = engine.learn(LINE, [])

    assert learned.results == 0
    assert all(strength.value == 1.0 for strength in learned.strengths.values())
    assert learned.doubts == engine.Doubts()
    assert learned.before is None
    assert not learned.improves


def test_a_shade_without_results_shares_the_lines_strength_and_keeps_its_doubt() -> None:
    learned = engine.learn(LINE, _results(12, noise=0.5))

    assert "5 copper" not in learned.used
    assert learned.strengths["5 copper"].value == pytest.approx(learned.line.value)
    assert learned.doubts.shades["5 copper"] >= STRENGTH_DOUBT


def test_clear_has_no_strength() -> None:
    results = [
        engine.Observed(engine.Zone(8), {"8 violet": 1, "clear": 1}, level=6.5),
        engine.Observed(engine.Zone(8), {"8 violet": 1}, level=6.0),
    ]

    learned = engine.learn(LINE, results)

    assert learned.strengths["clear"] == engine.Ranged(1.0, 1.0, 1.0)
    assert "clear" not in learned.doubts.shades


def test_true_strengths_are_recovered_from_measured_swatches() -> None:
    learned = engine.learn(LINE, _results(36, noise=0.5))

    for name, true in TRUE.items():
        strength = learned.strengths[name]
        assert strength.low <= true <= strength.high
        assert abs(np.log(strength.value / true)) < 0.7 * abs(np.log(true))
        assert learned.doubts.shades[name] < 0.8 * STRENGTH_DOUBT


def test_results_by_eye_teach_too_if_less() -> None:
    eye = engine.learn(LINE, _results(24, by_eye=True))
    swatch = engine.learn(LINE, _results(24, noise=0.5))

    assert eye.strengths["8 violet"].value > 1.0 > eye.strengths["8 natural"].value
    for name in TRUE:
        assert swatch.doubts.shades[name] < eye.doubts.shades[name]


def test_leaving_clients_out_the_learned_strengths_miss_less() -> None:
    learned = engine.learn(LINE, _results(36, noise=0.5))

    assert learned.before is not None
    assert learned.after is not None
    assert learned.improves
    assert learned.after.levels < learned.before.levels
    assert learned.after.warmth_percent < learned.before.warmth_percent
    assert learned.unlearned == learned.before


def test_what_is_in_use_already_is_not_offered_again_and_its_error_is_the_same() -> None:
    results = _results(36, noise=0.5)
    first = engine.learn(LINE, results)

    again = engine.learn(LINE, results, in_use=first.factors())

    assert not again.improves
    assert again.after == first.after
    assert again.unlearned == first.unlearned
    assert again.factors() == first.factors()


def test_one_client_alone_proves_nothing() -> None:
    learned = engine.learn(LINE, _results(36, noise=0.5, client="one"))

    assert learned.clients == 1
    assert not learned.improves


def test_results_of_one_client_say_what_this_hair_takes() -> None:
    results = [
        engine.Observed(
            engine.Zone(8),
            {"8 violet": 1, "8 natural": n},
            lab=engine.predict(
                engine.Zone(8, take=1.3 if who == "hers" else 1.0),
                LINE,
                {"8 violet": 1, "8 natural": n},
            ).dry_lab.value,
            client=who,
        )
        for who in ("hers", "a", "b", "c", "d", "e")
        for n in (1, 2, 3)
    ]

    learned = engine.learn(LINE, results)

    assert learned.takes["hers"].value > 1.1
    assert max(learned.takes[who].value for who in "abcde") < 1.05


def test_the_order_of_results_does_not_matter() -> None:
    results = _results(8, noise=0.5)

    one, other = engine.learn(LINE, results), engine.learn(LINE, results[::-1])

    assert one.factors() == pytest.approx(other.factors(), rel=1e-9)


def test_more_of_the_same_results_narrow_the_range() -> None:
    doubts = [
        engine.learn(LINE, _results(n, noise=0.5)).doubts.shades["8 violet"] for n in (4, 8, 16)
    ]

    assert doubts[0] > doubts[1] > doubts[2]


def test_a_learned_strength_narrows_the_prediction() -> None:
    learned = engine.learn(LINE, _results(40, noise=0.5))
    zone, parts = engine.Zone(8), {"8 violet": 1}

    wide = engine.predict(zone, LINE, parts).levels_deeper_looks
    narrow = engine.predict(
        zone, LINE, parts, strengths=learned.factors(), doubts=learned.doubts
    ).levels_deeper_looks

    assert narrow.high - narrow.low < wide.high - wide.low


def test_shares_of_the_error_add_up() -> None:
    learned = engine.learn(LINE, _results(24, noise=0.5))

    for channel in (0, 1):
        assert sum(share[channel] for share in learned.shares.values()) == pytest.approx(1.0)
    assert learned.shares["strengths"][0] > 0.5


def test_colours_read_together_are_read_as_each_judge_reads_them() -> None:
    results = _results(6, by_eye=True)
    batch = Beds(LINE, engine.Chart.default()).batch(results)
    lab = batch.lab(np.ones((6, 2, len(LINE.names))))

    together = read_each(batch.judges, lab)

    for n, judge in enumerate(batch.judges):
        assert together[n, :, 0] == pytest.approx(judge.level(lab[n]))
        assert together[n, :, 1] == pytest.approx(judge.warmth_left_percent(lab[n]))
        assert together[n, :, 2] == pytest.approx(judge.cast(lab[n]))


def test_a_batch_predicts_what_predict_does() -> None:
    (result,) = _results(1)
    batch = Beds(LINE, engine.Chart.default()).batch([result])
    scales = np.array([[[TRUE.get(name, 1.0) for name in LINE.names]]])

    exact = engine.predict(result.zone, LINE, result.parts, strengths=TRUE)

    assert batch.lab(scales)[0, 0] == pytest.approx(exact.dry_lab.value)


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
def test_a_result_that_says_nothing_sound_is_refused(seen: dict[str, Any], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        engine.Observed(engine.Zone(8), {"8 violet": 1}, **seen)


def test_a_shade_of_another_line_is_named() -> None:
    result = engine.Observed(engine.Zone(8), {"8 unheard-of": 1}, level=7.0)

    with pytest.raises(ValueError, match="8 unheard-of"):
        engine.learn(LINE, [result])


def test_a_habit_of_reading_light_is_found_as_the_readers() -> None:
    even = _results(30, by_eye=True, reader="even", zone_reader="even", client="a")
    light = [
        replace(one, level=present(one.level) + 0.5)
        for one in _results(30, by_eye=True, seed=2, reader="light", zone_reader="light")
    ]

    readers = engine.learn(LINE, [*even, *light]).readers

    assert readers["light"].level.value > readers["even"].level.value + 0.2
    assert readers["light"].level.low > 0.0
