"""The level chart: what it must be, and what an edited one may not be."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulas.engine.hair.chart import (
    ASSUMED,
    LEVELS,
    MEASURED,
    WHITE_HAIR_LAB,
    Chart,
    turn_hue,
)
from formulas.engine.light.colorimetry import delta_e_2000, reflectance_to_lab
from formulas.engine.light.grid import WAVELENGTHS_NM, Array
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.light.recovery import recover_reflectance
from formulas.engine.toner.shades import Shade

CHART = Chart.default()
COLOURS = [("natural", CHART.natural_lab), ("warmth", CHART.warmth_lab)]


@pytest.mark.parametrize(("kind", "lab"), COLOURS)
def test_every_entry_makes_the_round_trip(kind: str, lab: Array) -> None:
    reflectance = recover_reflectance(lab)

    assert reflectance.shape == (19, 31)
    assert reflectance.min() >= 0.0
    assert reflectance.max() <= 1.0
    assert float(delta_e_2000(reflectance_to_lab(reflectance), lab).max()) < 0.5


@pytest.mark.parametrize(("kind", "lab"), COLOURS)
def test_every_reflectance_is_smooth(kind: str, lab: Array) -> None:
    """No sharp bands; towards red it keeps rising, but for a trace at the palest levels."""
    reflectance = recover_reflectance(lab)

    assert np.abs(np.diff(reflectance, axis=1)).max() < 0.1
    assert np.abs(np.diff(reflectance, n=2, axis=1)).max() < 0.02
    assert (reflectance.max(axis=1) - reflectance[:, -1]).max() < 0.02


@pytest.mark.parametrize(
    ("what", "lab", "levels"),
    [("dark brown", (22.5, 4.1, 5.1), (2, 3)), ("black", (18.4, -0.05, -0.84), (1, 1.5))],
)
def test_dark_levels_resemble_measured_dark_hair(
    what: str, lab: tuple[float, ...], levels: tuple[float, float]
) -> None:
    """Scanavez et al. 2000, J. Cosmet. Sci. 51:289-302, Tables III and IV (D65, 10 deg)."""
    between = np.linspace(*levels, 11)
    chart = np.array([CHART.natural_lab_at(level) for level in between])

    assert float(delta_e_2000(chart, np.array(lab)).min()) < 2.0, what


def test_natural_hair_is_as_brown_as_eumelanin() -> None:
    """Levels 5 to 10 against K/S proportional to wavelength^-3.20, the slope of eumelanin.

    Fitted to Sarna & Sealy 1984, Photochem. Photobiol. 39:69-74, and Crippa 1978, BBA
    538:164-170, over 400 to 700 nm. Hair holds some pheomelanin too, hence the tolerance.
    """
    scale = np.geomspace(0.02, 10, 400)[:, None]
    melanin = reflectance_to_lab(to_reflectance(scale * (WAVELENGTHS_NM / 550.0) ** -3.20))

    for lab in CHART.natural_lab[8:]:
        as_dark = [np.interp(lab[0], melanin[::-1, 0], melanin[::-1, k]) for k in range(3)]

        assert float(delta_e_2000(lab, np.array(as_dark))) < 4.0


def test_warmth_turns_from_red_to_yellow_as_the_level_rises() -> None:
    """Common practice, no source: red, orange, yellow-orange, yellow, pale yellow."""
    hue = CHART.warmth_hue_deg

    assert np.all(np.diff(hue) > 0)
    for level, low, high in [(3, 30, 45), (5, 45, 60), (6, 53, 66), (7.5, 65, 77), (9, 78, 88)]:
        assert low <= float(np.interp(level, LEVELS, hue)) <= high


def test_both_colours_of_a_level_are_as_dark() -> None:
    np.testing.assert_allclose(CHART.natural_lab[:, 0], CHART.warmth_lab[:, 0])


def test_standing_of_every_entry_is_said() -> None:
    assert CHART.standing == ((ASSUMED, ASSUMED),) * 19


@given(st.floats(1, 9.99), st.floats(-1, 0.99))
def test_colour_changes_without_jumps(level: float, undertone: float) -> None:
    here = reflectance_to_lab(to_reflectance(CHART.warmth_ks(level, undertone)))
    near = reflectance_to_lab(to_reflectance(CHART.warmth_ks(level + 1e-4, undertone + 1e-4)))

    assert np.abs(near - here).max() < 0.01


@pytest.mark.parametrize("level", [4, 6, 7.5, 9, 10])
def test_undertone_turns_the_hue_only(level: float) -> None:
    labs = [
        reflectance_to_lab(to_reflectance(CHART.warmth_ks(level, u))) for u in (-1, -0.5, 0, 1)
    ]
    hues = [float(np.degrees(np.arctan2(lab[2], lab[1]))) for lab in labs]

    assert hues == sorted(hues)
    assert hues[2] - hues[0] == pytest.approx(14, abs=0.1)
    assert hues[-1] <= 94.1
    # At the ends the lightness is the chart's; between them ln K/S is interpolated.
    assert np.ptp([lab[0] for lab in labs]) < 0.3


def test_a_hue_is_found_again_on_the_scale() -> None:
    for undertone in (-1.0, -0.4, 0.0, 0.3, 1.0):
        turns = np.interp(undertone, [-1, 0, 1], [-14.0, 0.0, 14.0])
        hue = float(np.interp(7.5, LEVELS, CHART.warmth_hue_deg)) + float(turns)

        assert CHART.undertone_at_hue(hue, level=7.5) == pytest.approx(undertone)


def test_turning_keeps_lightness_and_chroma() -> None:
    turned = turn_hue([50.0, 10.0, 30.0], 25.0)

    assert turned[0] == 50.0
    assert np.hypot(*turned[1:]) == pytest.approx(np.hypot(10.0, 30.0))


def test_a_measured_swatch_replaces_one_entry_and_says_so() -> None:
    chart = CHART.replaced(level=8, kind="warmth", lab=(54.5, 9.0, 31.0))

    assert chart.standing[14] == (ASSUMED, MEASURED)
    assert chart.warmth_lab[14].tolist() == [54.5, 9.0, 31.0]
    assert CHART.warmth_lab[14].tolist() != [54.5, 9.0, 31.0]


def test_entries_are_checked_together() -> None:
    """One by one, 7.5 alone would be lighter than the old 8."""
    chart = CHART.with_entries(
        [
            (7.5, "warmth", (55.0, 11.0, 32.0), MEASURED),
            (8, "warmth", (57.0, 9.0, 32.0), MEASURED),
        ]
    )

    assert chart.warmth_lab[13, 0] == 55.0


def test_whole_levels_are_enough() -> None:
    chart = Chart.from_lab(
        levels=LEVELS[::2],
        natural_lab=CHART.natural_lab[::2],
        warmth_lab=CHART.warmth_lab[::2],
    )

    np.testing.assert_allclose(chart.natural_lab, CHART.natural_lab)


def _changed(lab: np.ndarray, at: int, value: tuple[float, ...]) -> np.ndarray:
    copy = lab.copy()
    copy[at] = value
    return copy


NATURAL, WARMTH = CHART.natural_lab, CHART.warmth_lab


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        (
            {"warmth_lab": _changed(WARMTH, 14, (45.0, 9.0, 31.0))},
            r"warmth_lab \[L\*a\*b\*\]: level 8 is not lighter than level 7.5 "
            r"\(L\* 45.0 against 50.2\); hair must get lighter as the level rises",
        ),
        (
            {"natural_lab": _changed(NATURAL, 3, (float("nan"), 0, 0))},
            r"natural_lab \[L\*a\*b\*\] holds values that are not finite",
        ),
        ({"natural_lab": NATURAL[:10]}, r"needs shape \(19, 3\), given \(10, 3\)"),
        (
            {"warmth_lab": _changed(WARMTH, 12, (46.5, 1.0, 6.0))},
            r"level 7 is no warmer than natural hair",
        ),
        ({"warmth_lab": _changed(WARMTH, 12, (46.5, 90.0, 90.0))}, r"no smooth reflectance"),
        ({"standing": [("a guess", ASSUMED)] * 19}, r"standing must be one of"),
        ({"standing": [(ASSUMED, ASSUMED)] * 3}, r"standing needs 19 pairs, given 3"),
        ({"levels": LEVELS[::-1]}, r"levels \[level\] must rise"),
        ({"levels": LEVELS + 1}, r"levels \[level\] must cover 1 to 10, given 2 to 11"),
    ],
)
def test_a_chart_that_makes_no_sense_is_refused(
    changes: dict[str, object], message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        Chart.from_lab(**{"natural_lab": NATURAL, "warmth_lab": WARMTH, **changes})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("entry", "message"),
    [
        ((7.3, "warmth", (50, 11, 32), MEASURED), r"level \[level\] must be 1..10 in half"),
        ((7.5, "grey", (50, 11, 32), MEASURED), r"kind must be one of natural, warmth"),
        ((7.5, "warmth", (50, 11), MEASURED), r"lab \[L\*a\*b\*\] needs 3 values"),
    ],
)
def test_a_bad_entry_is_refused(
    entry: tuple[float, str, tuple[float, ...], str], message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        CHART.with_entries([entry])


@pytest.mark.parametrize("level", [0.5, 10.5, float("nan")])
def test_a_level_off_the_chart_is_refused(level: float) -> None:
    with pytest.raises(ValueError, match=r"level \[level\] must be within 1..10"):
        CHART.natural_ks(level)


def test_on_a_chart_lighter_than_white_hair_the_chart_itself_is_the_lightest() -> None:
    """A salon's own measured level 10; white hair then ends no scale of depth."""
    light = CHART.replaced(level=10, kind="natural", lab=(WHITE_HAIR_LAB[0] + 2.0, 1.0, 8.0))

    assert np.array_equal(light.natural_to_white, light.natural_lab)
    assert np.array_equal(CHART.natural_to_white[-1], WHITE_HAIR_LAB)
    # White hair is as dark as that level already, so its neutral lays nothing on.
    assert not Shade.from_words("10 natural").load(light).any()
