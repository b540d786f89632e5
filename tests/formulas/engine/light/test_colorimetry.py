"""XYZ, L*a*b*, dE00 and screen colours against published data and colour-science."""

import csv
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulas.engine.checks import EngineRefusal
from formulas.engine.light import colorimetry as c
from formulas.engine.light import grid
from formulas.engine.light.library import colour_science

_TABLE = Path(__file__).parent / "data/sharma_2005.csv"
SHARMA = [
    [float(value) for value in row]
    for row in list(csv.reader(_TABLE.read_text().splitlines()))[1:]
]


def test_all_34_pairs_are_here() -> None:
    assert len(SHARMA) == 34


@pytest.mark.parametrize("row", SHARMA)
def test_delta_e_2000_of_the_published_pairs(row: list[float]) -> None:
    """Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1):21-30, Table 1."""
    assert float(c.delta_e_2000(row[:3], row[3:6])) == pytest.approx(row[6], abs=1e-4)


def test_lab_is_that_of_colour_science() -> None:
    colour = colour_science()
    xyz = np.random.default_rng(3).uniform(0.02, 100.0, (200, 3))
    xyz[:20] *= 0.01  # the straight part near black, too
    white = grid.white()

    expected = colour.XYZ_to_Lab(xyz / 100.0, colour.XYZ_to_xy(white))

    # colour-science takes the white as a chromaticity with Y = 1: so does ours.
    np.testing.assert_allclose(c.xyz_to_lab(xyz), expected, atol=1e-9)


def test_white_and_black() -> None:
    np.testing.assert_allclose(c.reflectance_to_lab(np.ones(31)), [100, 0, 0], atol=1e-9)
    np.testing.assert_allclose(c.reflectance_to_lab(np.zeros(31)), [0, 0, 0], atol=1e-9)


@given(st.floats(0.1, 100), st.floats(-60, 60), st.floats(-60, 60))
def test_lab_there_and_back(lightness: float, a: float, b: float) -> None:
    lab = np.array([lightness, a, b])

    np.testing.assert_allclose(c.xyz_to_lab(c.lab_to_xyz(lab)), lab, atol=1e-8)


@pytest.mark.parametrize(
    ("lab", "hex_code"),
    [((100, 0, 0), "#ffffff"), ((0, 0, 0), "#000000"), ((53.585, 0, 0), "#808080")],
)
def test_neutrals_are_grey_on_screen(lab: tuple[float, ...], hex_code: str) -> None:
    """IEC 61966-2-1: sRGB 128 is L* 53.585."""
    assert c.lab_to_hex(lab) == hex_code


def test_screen_colour_is_that_of_colour_science() -> None:
    """Adapted from D65/10 degrees to sRGB's white by CAT02."""
    colour = colour_science()
    lab = np.array([50.0, 12.0, 30.0])
    xyz = colour.Lab_to_XYZ(lab, colour.XYZ_to_xy(grid.white()))

    rgb = colour.XYZ_to_sRGB(
        xyz, colour.XYZ_to_xy(grid.white()), chromatic_adaptation_transform="CAT02"
    )

    wanted = "#" + "".join(f"{round(float(v) * 255):02x}" for v in rgb)
    assert c.lab_to_hex(lab) == wanted


def test_what_a_screen_cannot_show_keeps_hue_and_lightness() -> None:
    colour = colour_science()
    lab = np.array([75.0, 20.0, 110.0])

    shown = c.lab_to_hex(lab)

    rgb = [int(shown[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    back = colour.XYZ_to_Lab(colour.sRGB_to_XYZ(rgb))
    assert back[0] == pytest.approx(75.0, abs=1.0)
    assert np.hypot(*back[1:]) < np.hypot(*lab[1:])
    hue = np.degrees(np.arctan2(back[2], back[1]) - np.arctan2(lab[2], lab[1]))
    assert abs(hue) < 4.0  # the white points differ a little


@given(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128))
def test_every_colour_has_a_screen_colour(lightness: float, a: float, b: float) -> None:
    assert re.fullmatch(r"#[0-9a-f]{6}", c.lab_to_hex((lightness, a, b)))


@pytest.mark.parametrize(
    ("function", "argument"),
    [
        (c.reflectance_to_xyz, np.ones(30)),
        (c.reflectance_to_xyz, np.float64(0.5)),
        (c.xyz_to_lab, np.ones(2)),
        (c.lab_to_xyz, np.ones(4)),
    ],
)
def test_a_wrong_shape_is_refused(function: object, argument: object) -> None:
    with pytest.raises(ValueError, match="last axis"):
        function(argument)  # type: ignore[operator]


@pytest.mark.parametrize("lab", [(50.0, 0.0), (50.0, 0.0, float("nan")), 50.0])
def test_what_is_no_colour_is_not_drawn(lab: object) -> None:
    with pytest.raises(EngineRefusal, match="needs 3 finite values") as refused:
        c.lab_to_hex(lab)  # type: ignore[arg-type]

    assert refused.value.code == "no_colour"


@pytest.mark.parametrize("code", ["#000000", "#2b1d14", "#a8642f", "#d9c19a", "#ffffff"])
def test_a_screen_colour_is_read_as_colour_science_reads_it(code: str) -> None:
    """From sRGB's own white to D65/10 degrees by CAT02, and back to the very colour."""
    colour = colour_science()
    white = colour.XYZ_to_xy(grid.white())
    rgb = [int(code[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    xyz = colour.sRGB_to_XYZ(rgb, white, chromatic_adaptation_transform="CAT02")

    lab = c.hex_to_lab(code)

    # Its matrices from and to sRGB are rounded, and so no exact inverses.
    np.testing.assert_allclose(lab, colour.XYZ_to_Lab(xyz, white), atol=0.02)
    assert c.lab_to_hex(lab) == code
