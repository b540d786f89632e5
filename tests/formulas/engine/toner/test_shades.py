"""Pigment families, shades in words, measured swatches, lines."""

import numpy as np
import pytest

from formulas.engine import Chart, Line, Shade, demo_lines
from formulas.engine.hair.chart import WHITE_HAIR_LAB
from formulas.engine.light.colorimetry import delta_e_2000, reflectance_to_lab
from formulas.engine.light.grid import WAVELENGTHS_NM
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.toner.pigments import FAMILIES, STRENGTHS, TONES, band
from formulas.engine.toner.shades import white_hair_ks

CHART = Chart.default()

# Absorption maxima read in print: J. Soc. Cosmet. Chem. 35 (1984) p. 307, Table IV (471, 513);
# 24 (1973) p. 114, Table V (554, 653); Acid Blue 9, 628-630.
PUBLISHED_NM = {"orange": 471, "red": 513, "violet": 554, "blue": 629, "green": 653}


@pytest.mark.parametrize(("family", "peak_nm"), PUBLISHED_NM.items())
def test_a_family_absorbs_most_where_its_dye_does(family: str, peak_nm: float) -> None:
    assert abs(WAVELENGTHS_NM[band(family).argmax()] - peak_nm) <= 5


def test_blue_and_green_are_the_strongest_per_part() -> None:
    """Common practice, no source."""
    powers = {name: family.power for name, family in FAMILIES.items()}

    assert min(powers["blue"], powers["green"]) > max(
        power for name, power in powers.items() if name not in {"blue", "green"}
    )


def test_an_unknown_family_lists_those_there_are() -> None:
    with pytest.raises(ValueError, match="yellow, orange, red, violet, blue, green"):
        band("pink")


@pytest.mark.parametrize("level", [1, 4, 7.5, 10])
def test_a_natural_gives_white_hair_the_natural_colour_of_its_level(level: float) -> None:
    shade = Shade.from_words(f"{level:g} natural")

    toned = to_reflectance(white_hair_ks() + shade.load(CHART))

    expected = to_reflectance(CHART.natural_ks(level))
    assert float(delta_e_2000(reflectance_to_lab(toned), reflectance_to_lab(expected))) < 0.5


def test_white_hair_is_lighter_than_any_level() -> None:
    assert WHITE_HAIR_LAB[0] > CHART.natural_lab[-1, 0]
    np.testing.assert_allclose(
        reflectance_to_lab(to_reflectance(white_hair_ks())), WHITE_HAIR_LAB, atol=1e-3
    )


@pytest.mark.parametrize("level", [4, 5, 6.5, 8, 9, 10])
@pytest.mark.parametrize("tone", TONES)
@pytest.mark.parametrize("strength", STRENGTHS)
def test_a_shade_reads_its_own_level_on_white_hair(
    level: float, tone: str, strength: str
) -> None:
    """A shade's level is what it gives on white hair (a colour educator's teaching text)."""
    shade = Shade.from_words(f"{level:g} {strength} {tone}")

    lab = reflectance_to_lab(to_reflectance(white_hair_ks() + shade.load(CHART)))

    assert lab[0] == pytest.approx(CHART.natural_lab_at(level)[0], abs=0.01)


@pytest.mark.parametrize("tone", ["violet", "blue", "violet-blue", "pearl", "ash", "gold"])
def test_strength_moves_the_share_of_tone_within_the_depth(tone: str) -> None:
    tones = [
        Shade.from_words(f"8 {strength} {tone}").tone_load(CHART).sum()
        for strength in ("slight", "soft", "plain", "strong")
    ]
    neutral = [
        Shade.from_words(f"8 {strength} {tone}").neutral_load(CHART).sum()
        for strength in ("slight", "soft", "plain", "strong")
    ]

    assert tones == sorted(tones)
    assert neutral == sorted(neutral, reverse=True)


@pytest.mark.parametrize("neutral", [0.0, 0.5, 1.5])
def test_more_or_less_background_keeps_the_depth(neutral: float) -> None:
    shade = Shade("8 violet", 8.0, {"violet": 1.0}, neutral=neutral)

    lab = reflectance_to_lab(to_reflectance(white_hair_ks() + shade.load(CHART)))

    assert lab[0] == pytest.approx(CHART.natural_lab_at(8)[0], abs=0.01)


def test_loads_add_up_and_name_their_families() -> None:
    shade = Shade.from_words("7 violet-blue")

    loads = shade.loads(CHART)

    assert set(loads) == {"neutral", "violet", "blue"}
    np.testing.assert_allclose(sum(loads.values()), shade.load(CHART))
    np.testing.assert_allclose(
        shade.neutral_load(CHART) + shade.tone_load(CHART), shade.load(CHART)
    )


@pytest.mark.parametrize("tone", TONES)
@pytest.mark.parametrize("strength", ["", *STRENGTHS])
def test_every_word_makes_a_shade(tone: str, strength: str) -> None:
    shade = Shade.from_words(f"8 {strength} {tone}")

    total = sum(shade.tones.values())
    assert total == pytest.approx(STRENGTHS[strength or "plain"] * sum(TONES[tone].values()))


@pytest.mark.parametrize(
    ("said", "same"),
    [
        ("8 violet-blue strong", "8 strong violet-blue"),
        ("8 Violet Blue", "8 violet-blue"),
        ("8 blue-violet", "8 violet-blue"),
        ("10 soft violet-blue natural", "10 soft violet-blue"),
        ("9 golden", "9 gold"),
        ("8 neutral", "8 natural"),
    ],
)
def test_words_may_stand_in_any_order(said: str, same: str) -> None:
    one, other = Shade.from_words(said), Shade.from_words(same)

    assert (one.level, one.tones) == (other.level, other.tones)


@pytest.mark.parametrize(
    "words", ["8", "violet", "8 mauve", "8 soft strong violet", "8 violet red", "", "x natural"]
)
def test_unknown_words_list_the_known(words: str) -> None:
    with pytest.raises(ValueError, match=r"slight, soft, strong.*natural, .*violet-blue"):
        Shade.from_words(words)


@pytest.mark.parametrize("words", ["0 natural", "11 natural", "99 violet"])
def test_an_absurd_level_is_refused(words: str) -> None:
    with pytest.raises(ValueError, match=r"\[level\] must be within 1..10"):
        Shade.from_words(words)


def test_clear_carries_nothing() -> None:
    clear = Shade.from_words("clear")

    assert clear.is_clear
    assert not clear.load(CHART).any()


def test_a_measured_swatch_gives_white_hair_its_own_colour() -> None:
    swatch = to_reflectance(white_hair_ks() + 0.4 * band("violet") + 0.2)

    shade = Shade("measured", 8, reflectance=swatch)

    assert list(shade.loads(CHART)) == ["swatch"]
    np.testing.assert_allclose(
        to_reflectance(white_hair_ks() + shade.load(CHART)), swatch, atol=1e-9
    )


def test_a_swatch_lighter_than_white_hair_deposits_nothing_there() -> None:
    shade = Shade("pale", None, reflectance=np.full(31, 0.95))

    assert not shade.load(CHART).any()


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"name": " "}, r"name of a shade must not be empty"),
        ({"level": float("nan")}, r"level of x \[level\]"),
        ({"tones": {"pink": 1}}, r"tones of x must be one of yellow"),
        ({"tones": {"violet": -1}}, r"violet of x \[amount\]"),
        ({"level": None, "tones": {"violet": 1}}, r"level of x \[level\].*given None"),
        ({"neutral": 2}, r"neutral of x \[share\]"),
        ({"strength": 0}, r"strength of x \[factor\]"),
        ({"reflectance": [0.5] * 30}, r"reflectance of x \[unitless\] needs 31 values"),
        ({"reflectance": [50.0] * 31}, r"reflectance of x \[unitless\] must lie within 0..1"),
        ({"reflectance": [float("nan")] * 31}, r"reflectance of x .*finite"),
    ],
)
def test_a_bad_shade_is_refused(fields: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Shade(**{"name": "x", "level": 8.0, **fields})  # type: ignore[arg-type]


@pytest.mark.parametrize("line", demo_lines().values(), ids=str)
def test_a_demo_line_has_what_a_bench_needs(line: Line) -> None:
    wanted = {
        f"{level} {tone}"
        for level in range(5, 11)
        for tone in ("natural", "violet", "blue", "violet-blue", "pearl", "gold", "copper")
    }

    assert 40 <= len(line.shades) <= 60
    assert wanted | {"clear"} <= set(line.names)


def test_one_demo_line_is_acidic_and_one_alkaline() -> None:
    assert sorted(line.kind for line in demo_lines().values()) == ["acidic", "alkaline"]


def _line(**fields: object) -> Line:
    shades = (Shade.from_words("8 natural"), Shade.from_words("8 violet"))
    return Line(**{"name": "Test", "kind": "acidic", "shades": shades, **fields})  # type: ignore[arg-type]


def test_a_shade_is_found_however_it_is_written() -> None:
    assert _line().shade("8  Natural").name == "8 natural"
    assert _line().resolved({"8 VIOLET": 1, "8 violet": 2}) == {"8 violet": 3}


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"shades": ()}, r"shades of Test \[count\]: a line needs at least one, given none"),
        ({"shades": (Shade.from_words("8 natural"),) * 2}, r"given twice: '8 natural'"),
        ({"kind": "neutral"}, r"kind of Test must be one of acidic, alkaline"),
        ({"name": ""}, r"name of a line"),
        ({"developer_ratio": 0}, r"developer_ratio \[parts\]"),
        ({"developer_percent": 13}, r"developer_percent \[%\] must be within 0..12"),
        ({"processing_minutes": float("nan")}, r"processing_minutes \[min\]"),
    ],
)
def test_a_bad_line_is_refused(fields: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        _line(**fields)


def test_a_line_of_one_shade_predicts() -> None:
    from formulas.engine import Zone, predict

    line = _line(shades=(Shade.from_words("8 violet"),))

    assert predict(Zone(8), line, {"8 violet": 1}).warmth_left_percent.value < 50
