"""A measured swatch as instruments copy it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.swatch_text import SwatchRefused, read_swatch

FLAT = [0.4] * 31


def test_lab_comes_back_as_measured() -> None:
    """Recovered by the method of Jakob & Hanika 2019, then read again."""
    spectrum = read_swatch("52,5; 8,25; −3")

    assert reflectance_to_lab(spectrum) == pytest.approx([52.5, 8.25, -3.0], abs=0.01)


@pytest.mark.parametrize(
    "text",
    [
        " ".join(["0.4"] * 31),
        "\n".join(["40"] * 31),
        "; ".join(["0,4"] * 31),
        ", ".join(["40.0"] * 31),
        "\n".join(f"{nm}\t0.4" for nm in range(400, 701, 10)),
        "\n".join(f"{nm} 40" for nm in range(360, 781, 5)),
        "\n".join(f"{nm},0.4" for nm in range(400, 701, 20)),
    ],
)
def test_the_ways_in_which_programs_copy_a_spectrum(text: str) -> None:
    assert read_swatch(text) == pytest.approx(FLAT)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "0 numbers"),
        ("1 2", "2 numbers"),
        ("a b c", "not a number"),
        ("nan 1 2", "not plain"),
        ("inf 1 2", "not plain"),
        ("1 " * 3000, "Too many"),
        ("120 0 0", "No hair"),
        ("50 300 0", "No hair"),
        (" ".join(["0.4"] * 30 + ["-0.2"]), "from 0 to 1"),
        (" ".join(["40"] * 30 + ["140"]), "from 0 to 1"),
        ("\n".join(f"{nm} 0.4" for nm in range(450, 701, 10)), "from 400 to 700"),
        ("\n".join(f"{nm} 0.4" for nm in range(700, 399, -10)), "rise"),
    ],
)
def test_what_is_no_measurement_is_refused_in_words(text: str, words: str) -> None:
    with pytest.raises(SwatchRefused, match=words):
        read_swatch(text)


@given(st.text(max_size=200))
def test_any_text_gives_a_spectrum_or_a_refusal(text: str) -> None:
    try:
        spectrum = read_swatch(text)
    except SwatchRefused:
        return

    assert len(spectrum) == 31
    assert np.all((np.array(spectrum) >= 0) & (np.array(spectrum) <= 1))
