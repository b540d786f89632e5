"""From the stylist's reading to K/S."""

import numpy as np
import pytest

from formulas.engine import Chart, Residual, Zone, demo_lines, undertone_from_word
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.toner.shades import white_hair_ks
from formulas.engine.toner.zone import UNDERTONE_WORDS

CHART = Chart.default()
LINE = demo_lines()["Tidepool"]


@pytest.mark.parametrize(
    ("word", "level"),
    [
        ("orange", 6),
        ("yellow-orange", 7.5),
        ("yellow", 9),
        ("pale yellow", 10),
        ("Orange-Yellow", 7.5),
    ],
)
def test_a_level_shows_its_own_warmth(word: str, level: float) -> None:
    """Common practice, no source: orange at 6, yellow-orange at 7 to 8, yellow at 9."""
    assert undertone_from_word(word, level=level) == pytest.approx(0.0, abs=0.05)


def test_words_run_from_orange_to_golden() -> None:
    found = [undertone_from_word(word, level=7.5) for word in UNDERTONE_WORDS]

    assert found == sorted(found)
    assert found[0] == -1.0
    assert 0.5 < found[-1] <= 1.0


def test_an_unknown_word_lists_those_it_knows() -> None:
    with pytest.raises(ValueError, match=r"'purple': use one of red-brown, .*pale yellow"):
        undertone_from_word("purple", level=7)


@pytest.mark.parametrize("share", [0, 30, 100])
def test_white_and_pigmented_fibres_average(share: float) -> None:
    found = Zone(7, white_percent=share).reflectance(CHART)

    white = to_reflectance(white_hair_ks())
    pigmented = to_reflectance(CHART.warmth_ks(7, 0))
    np.testing.assert_allclose(
        found, share / 100 * white + (1 - share / 100) * pigmented, rtol=1e-9
    )


@pytest.mark.parametrize(
    ("argument", "value", "message"),
    [
        ("lifted_level", 0, r"lifted_level \[level\] must be within 1..10, given 0"),
        ("lifted_level", 11, r"lifted_level \[level\]"),
        ("lifted_level", -3, r"lifted_level \[level\]"),
        ("lifted_level", float("nan"), r"lifted_level \[level\]"),
        ("lifted_level", "dark", r"lifted_level \[level\] must be a number, given 'dark'"),
        ("lifted_level", None, r"lifted_level \[level\] must be a number"),
        ("undertone", 1.5, r"undertone \[-1..1\]"),
        ("white_percent", 101, r"white_percent \[%\] must be within 0..100, given 101"),
        ("porosity", float("inf"), r"porosity \[-1..1\]"),
    ],
)
def test_an_absurd_reading_is_refused(argument: str, value: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Zone(**{"lifted_level": 7.0, argument: value})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"parts": {}}, r"parts \[parts\] must name at least one shade"),
        ({"parts": {"8 mauve": 1}}, r"no shade '8 mauve'"),
        ({"parts": {"8 violet": -1}}, r"parts of 8 violet \[parts\]"),
        ({"washes": -1}, r"washes \[count\]"),
        ({"minutes": float("nan")}, r"minutes of residual \[min\]"),
        ({"porosity": 3}, r"porosity of residual \[-1..1\]"),
    ],
)
def test_an_absurd_last_visit_is_refused(change: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Residual(**{"line": LINE, "parts": {"8 violet": 1}, **change})  # type: ignore[arg-type]
