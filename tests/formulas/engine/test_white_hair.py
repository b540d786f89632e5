"""White hair: fibre by fibre, read as an eye sees it, and offered mixes that cover or cool."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulas import engine
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.prediction.numbers import judge_of
from formulas.engine.toner.shades import white_hair_ks
from formulas.engine.toner.uptake import lift_factor
from tests.formulas.engine.lines_for_tests import LINE, OTHER, SMALL

CHART = engine.Chart.default()


@pytest.mark.parametrize("white", [0.0, 25.0, 60.0, 100.0])
def test_each_kind_of_fibre_takes_the_toner_by_itself(white: float) -> None:
    """Written out: pigmented fibres take by their lift, white ones the nominal."""
    zone = engine.Zone(8, white_percent=white, natural_level=5)
    deposit = 0.75 * LINE.shade("8 violet").load(CHART)
    share = white / 100
    own = lift_factor(8, 5, kind=LINE.kind)
    expected = (1 - share) * to_reflectance(CHART.warmth_ks(8, 0) + own * deposit)
    expected = expected + share * to_reflectance(white_hair_ks() + deposit)

    found = engine.predict(zone, LINE, {"8 violet": 3, "clear": 1})

    assert found.dry_lab.value == pytest.approx(reflectance_to_lab(expected), abs=1e-9)


def test_toner_of_the_last_visit_lies_on_each_kind_by_itself() -> None:
    before = engine.Residual(LINE, {"9 violet": 1}, washes=0)
    zone = engine.Zone(8, white_percent=40, residual=before)

    left = engine.prepare(zone, LINE).residual_ks

    load = LINE.shade("9 violet").load(CHART)
    np.testing.assert_allclose(left[0], lift_factor(8, None, kind=LINE.kind) * load, rtol=1e-9)
    np.testing.assert_allclose(left[1], load, rtol=1e-9)


@given(
    st.floats(3, 10),
    st.floats(0, 99.9),
    st.sampled_from([name for name in LINE.names if name != "clear"]),
)
def test_warmth_changes_without_a_jump_and_stays_bounded(
    level: float, white: float, name: str
) -> None:
    """All the way to hair that is white altogether."""

    def read(percent: float) -> tuple[float, float, float]:
        bed = engine.prepare(engine.Zone(level, white_percent=percent), LINE)
        judge = judge_of(bed, CHART)
        toned = reflectance_to_lab(bed.mixed(bed.fractions({name: 1})))
        unit = judge.starting_warmth / 100  # as an eye sees it, in units of a*b*
        return (
            judge.start_percent,
            unit * float(judge.warmth_left_percent(toned)),
            float(judge.levels_deeper_looks(toned)),
        )

    here, near, all_white = read(white), read(white + 0.01), read(100.0)

    assert np.abs(np.subtract(near, here)).max() < 3.0
    assert -120 < here[0] <= 100 + 1e-9
    assert all_white[0] == pytest.approx(0.0, abs=0.1)  # white hair is natural hair, too
    # A grid of all of it finds 170: violet alone on dark hair that is nearly all white.
    assert abs(here[1]) < 200


def test_the_last_pigmented_fibres_hardly_matter() -> None:
    few, none = (
        engine.predict(engine.Zone(7, white_percent=w), LINE, {"8 natural": 1})
        for w in (99.9, 100.0)
    )

    assert few.dry_lab.value == pytest.approx(none.dry_lab.value, abs=0.2)
    assert few.warmth_left_percent.value == pytest.approx(none.warmth_left_percent.value, abs=2)


@pytest.mark.parametrize("white", [15.0, 30.0, 50.0, 80.0, 100.0])
@pytest.mark.parametrize("level", [6.0, 8.0, 9.0])
def test_a_choice_is_left_at_every_share_of_white(level: float, white: float) -> None:
    """Three places, each a real mix, none of them a colour of its own."""
    zone = engine.Zone(level, white_percent=white)
    found = engine.offer(zone, LINE)

    assert len({one.mix.parts for one in found.places}) == 3
    assert {one.key for one in found.places} == {"bright", "between", "cool"}
    for one in found.places:
        parts = dict(one.mix.parts)
        assert set(parts) != {"clear"}
        assert parts.get("clear", 0) <= sum(parts.values()) / 2
        lowest = found.every.judge.coolest_percent
        assert lowest is None or one.mix.warmth_left_percent >= lowest


@pytest.mark.parametrize("wanted", [5.0, 6.0, 7.0])
@pytest.mark.parametrize("white", [0.0, 30.0, 60.0, 100.0])
@pytest.mark.parametrize("line", [LINE, OTHER], ids=lambda line: line.name)
def test_a_wanted_level_is_met(wanted: float, white: float, line: engine.Line) -> None:
    """Cover of white, or a darker, cool brunette: what is offered looks as dark as was asked.

    Around the wanted level where much is white: half a natural at it (a trade magazine).
    """
    zone = engine.Zone(8, white_percent=white)
    found = engine.offer(zone, line, wanted_level=wanted)
    judge = found.every.judge

    for one in found.places:
        looks = float(judge.looks_level(np.array(one.mix.lab)))
        # Where so little warmth costs more depth than was asked, the cost leads.
        least = float(found.every.curve.at(one.mix.warmth_left_percent))
        lightest = float(judge.looks_level(judge.start_lab)) - least
        assert looks < wanted + 0.35
        assert looks > min(wanted, lightest - 0.3) - 0.35
        if white >= 30:
            levels = [line.shade(name).level for name, _ in one.mix.parts]
            assert all(own is None or wanted - 2 <= own <= wanted + 1 for own in levels)
    warmth = [one.mix.warmth_left_percent for one in found.places]
    assert warmth == sorted(warmth, reverse=True)
    assert warmth[-1] < 25
    assert warmth[0] > warmth[-1] + 15


def test_a_search_on_white_hair_reads_as_predict_does() -> None:
    zone = engine.Zone(7.5, white_percent=35)
    result = engine.search(zone, SMALL)
    rows = np.arange(0, result.space.size, result.space.size // 40)

    for row, candidate in zip(rows, result.read(rows), strict=True):
        told = engine.predict(zone, SMALL, dict(candidate.parts))

        assert candidate.lab == pytest.approx(told.dry_lab.value, abs=1e-9)
        off = abs(result.pool.warmth[row] - told.warmth_left_percent.value)
        assert off <= result.pool.tolerance[0]


def test_white_fibres_show_the_tone_clearest() -> None:
    """Common practice, no source."""
    some, none = (
        engine.predict(engine.Zone(9, white_percent=white), LINE, {"9 violet": 1})
        for white in (100.0, 0.0)
    )

    assert some.dry_lab.value[2] < none.dry_lab.value[2] - 5
