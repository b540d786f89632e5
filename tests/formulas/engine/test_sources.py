"""Every assumption of the model is written down with its value."""

from pathlib import Path

import pytest

from formulas.engine.hair import appearance, chart
from formulas.engine.light import wet
from formulas.engine.prediction import doubts
from formulas.engine.toner import calibration, pigments, uptake
from formulas.engine.toner.calibration import UPTAKE_LITTLE as LITTLE
from formulas.engine.toner.calibration import UPTAKE_MUCH as MUCH

TEXT = (Path(wet.__file__).parent.parent / "data/SOURCES.md").read_text("utf-8")


@pytest.mark.parametrize(
    "said",
    [
        f"lays in {calibration.TONE_SHARE:g} of what",
        f"{calibration.MOST_TONE:g} times the mean K/S",
        f"lift^2 + {calibration.UPTAKE_HALF_WAY_LEVELS:g}^2",
        f"{LITTLE['acidic']:g} to {MUCH['acidic']:g} of nominal",
        f"{LITTLE['alkaline']:g} to {MUCH['alkaline']:g} in an",
        f"{calibration.USUAL_NATURAL_LEVEL:g} is the natural level where",
        f"leaves {calibration.ROOM_TAKEN:g} less room",
        f"sigma {pigments.BAND_SIGMA_NM:g} nm",
        f"{pigments.FAMILIES['blue'].power:g} times the others",
        ", ".join(f"{value:g}" for value in pigments.STRENGTHS.values()),
        f"by {chart.UNDERTONE_TURN_DEG:g} degrees, never past {chart.GREENEST_HUE_DEG:g}",
        "L\\* {:g}, a\\* {:g}, b\\* {:g}".format(*chart.WHITE_HAIR_LAB),
        f"cast^2 / {appearance.FULL_CAST:g}",
        f"{appearance.SMALLEST_WARMTH:g} units of a\\*b\\*",
        f"ends {uptake.HOLD_PER_POROSITY * 100:g} % deeper",
        f"half in {uptake.HALF_LIFE_WASHES['acidic']:g} washes",
        f"an alkaline one in {uptake.HALF_LIFE_WASHES['alkaline']:g}",
        f"{uptake.FADE_PER_POROSITY:g} times as fast",
        f"{doubts.UNDERTONE_DOUBT:g}, {doubts.POROSITY_DOUBT:g}, "
        f"{doubts.WHITE_DOUBT_PERCENT:g} %, {doubts.STRENGTH_DOUBT * 100:g} %",
        f"{doubts.WETTING_DOUBT * 100:g} %",
    ],
)
def test_the_value_in_force_is_the_one_written(said: str) -> None:
    assert said in TEXT


@pytest.mark.parametrize("family", pigments.FAMILIES)
def test_every_band_is_written(family: str) -> None:
    for centre, _ in pigments.FAMILIES[family].bands:
        assert f"{centre:g} nm" in TEXT


def test_pace_of_porous_hair_is_written() -> None:
    assert uptake.PACE_PER_POROSITY == 2.0
    assert "time runs twice as fast per unit of porosity" in TEXT
