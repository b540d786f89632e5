"""Uptake, dilution, fading, and the bed that prediction and search share."""

from dataclasses import replace

import numpy as np
import pytest

from formulas.engine import Chart, Residual, Zone, demo_lines, prepare
from formulas.engine.toner.uptake import HALF_LIFE_WASHES, dilution, kept, uptake

CHART = Chart.default()
ACIDIC, ALKALINE = demo_lines()["Tidepool"], demo_lines()["Slatecliff"]


@pytest.mark.parametrize("line", [ACIDIC, ALKALINE])
def test_the_lines_own_time_is_nominal(line: object) -> None:
    assert uptake(None, line=line) == pytest.approx(1.0)  # type: ignore[arg-type]
    assert uptake(line.processing_minutes, line=line) == pytest.approx(1.0)  # type: ignore[attr-defined, arg-type]


def test_early_uptake_runs_as_the_square_root_of_time() -> None:
    """Tate et al. 1993, J. Soc. Cosmet. Chem. 44:347-371: early uptake ~ sqrt(t)."""
    ratio = uptake(0.4, line=ACIDIC) / uptake(0.1, line=ACIDIC)

    assert ratio == pytest.approx(2.0, rel=0.02)


def test_late_uptake_levels_off() -> None:
    assert uptake(180, line=ACIDIC) < 1.15
    assert uptake(180, line=ACIDIC) - uptake(90, line=ACIDIC) < 0.01


def test_no_time_takes_nothing() -> None:
    bed = prepare(Zone(7), ACIDIC, minutes=0)

    assert not bed.loads.any()


def test_porous_hair_takes_faster_and_a_little_more() -> None:
    """Direction: Tate et al. 1993 (bleached hair is faster). Size: model assumption."""
    early = uptake(2, line=ACIDIC, porosity=1) / uptake(2, line=ACIDIC)
    late = uptake(180, line=ACIDIC, porosity=1) / uptake(180, line=ACIDIC)

    assert early > late > 1.0
    assert uptake(20, line=ACIDIC, porosity=-1) < 0.85


def test_more_developer_dilutes() -> None:
    """Parts: (1 + 1.5) of mixture at 1:1.5 against (1 + 3) at 1:3."""
    assert dilution(ACIDIC, 3.0) == pytest.approx(2.5 / 4.0)
    assert dilution(ACIDIC, None) == 1.0
    assert dilution(ACIDIC, ACIDIC.developer_ratio) == pytest.approx(1.0)


@pytest.mark.parametrize("kind", HALF_LIFE_WASHES)
def test_half_is_gone_after_five_or_six_washes(kind: str) -> None:
    """Demi-permanent toners last 10 to 12 washes and more: trade and textbook texts."""
    assert kept(0, kind=kind) == 1.0
    assert 0.4 < kept(HALF_LIFE_WASHES[kind], kind=kind) < 0.6
    assert kept(12, kind=kind) < 0.3


def test_porous_hair_fades_faster() -> None:
    """Cheng et al. 2009: bleached hair fades faster. Size: model assumption."""
    assert kept(5, kind="acidic", porosity=1) < kept(5, kind="acidic")


def test_residual_is_what_the_washes_left() -> None:
    fresh, later = (
        prepare(Zone(7, residual=Residual(ACIDIC, {"8 violet": 1}, washes=w)), ACIDIC)
        for w in (0, 5)
    )
    laid = prepare(Zone(7), ACIDIC)

    np.testing.assert_allclose(
        fresh.residual_ks[0],
        laid.uptake[0] * (laid.fractions({"8 violet": 1}) @ laid.loads),
        rtol=1e-9,
    )
    np.testing.assert_allclose(later.residual_ks, 0.5 * fresh.residual_ks, rtol=1e-9)


def test_residual_keeps_its_learned_strengths_and_its_own_porosity() -> None:
    def residual(**how: object) -> np.ndarray:
        zone = Zone(7, residual=Residual(ACIDIC, {"8 violet": 1}, **how))  # type: ignore[arg-type]
        return prepare(zone, ACIDIC).residual_ks

    np.testing.assert_allclose(residual(strengths={"8 violet": 1.3}), 1.3 * residual())
    assert residual(porosity=1.0).max() > residual().max()


def test_bed_is_the_same_with_fewer_shades() -> None:
    whole = prepare(Zone(7), ACIDIC)
    one = prepare(Zone(7), replace(ACIDIC, shades=(ACIDIC.shade("8 violet"),)))

    at = ACIDIC.names.index("8 violet")
    np.testing.assert_allclose(one.loads[0], whole.loads[at])


def test_strengths_scale_their_own_shade_only() -> None:
    plain = prepare(Zone(7), ACIDIC)
    learned = prepare(Zone(7), ACIDIC, strengths={"8 violet": 1.5})

    factor = learned.loads.sum(axis=1)[:-1] / plain.loads.sum(axis=1)[:-1]
    at = ACIDIC.names.index("8 violet")
    assert factor[at] == pytest.approx(1.5)
    np.testing.assert_allclose(np.delete(factor, at), 1.0)


def test_learned_strength_is_the_shades_own_strength() -> None:
    own = replace(ACIDIC, shades=(replace(ACIDIC.shade("8 violet"), strength=1.5),))

    one = prepare(Zone(7), own)
    other = prepare(Zone(7), ACIDIC, strengths={"8 violet": 1.5})

    at = ACIDIC.names.index("8 violet")
    np.testing.assert_allclose(one.loads[0], other.loads[at])


@pytest.mark.parametrize(
    ("how", "message"),
    [
        ({"minutes": -1}, r"minutes \[min\] must be within 0..180, given -1"),
        ({"minutes": float("nan")}, r"minutes \[min\]"),
        ({"developer_ratio": 0}, r"developer_ratio \[parts\]"),
        ({"strengths": {"8 violet": -2}}, r"strength of 8 violet \[factor\]"),
        ({"strengths": {"8 violet": float("nan")}}, r"strength of 8 violet \[factor\]"),
    ],
)
def test_bad_numbers_are_named(how: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        prepare(Zone(7), ACIDIC, **how)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("parts", "message"),
    [
        ({}, r"parts \[parts\] must name at least one shade"),
        ({"8 mauve": 1}, r"no shade '8 mauve' in this line; it has 5 natural"),
        ({"8 violet": 0}, r"parts of 8 violet \[parts\]"),
        ({"8 violet": float("nan")}, r"parts of 8 violet \[parts\]"),
        ({"8 violet": "two"}, r"parts of 8 violet \[parts\] must be a number, given 'two'"),
    ],
)
def test_bad_parts_are_named(parts: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        prepare(Zone(7), ACIDIC).fractions(parts)  # type: ignore[arg-type]


def test_an_unknown_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="kind must be one of alkaline, acidic"):
        kept(3, kind="neutral")
