"""The limit against a linear programme, colour-science's optimal colours, and all mixes."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

from formulas import engine
from formulas.engine.light.colorimetry import lab_to_xyz, reflectance_to_lab
from formulas.engine.light.grid import BANDS, weights
from formulas.engine.light.library import colour_science
from formulas.engine.limit.least_depth import blocks, least_depths
from formulas.engine.limit.limit import limit_of
from formulas.engine.limit.object_colours import Solid
from formulas.engine.prediction.numbers import judge_of
from formulas.engine.toner.deposit import prepare
from tests.formulas.engine.lines_for_tests import LINE, OTHER, measured_at

CHART = engine.Chart.default()
ZONES = [
    engine.Zone(level, undertone) for level in (4, 6, 7.5, 9, 10) for undertone in (-1, 0, 1)
]


def _programme(xyz: np.ndarray, ceiling: np.ndarray) -> float:
    """Return the largest Y at the chromaticity of `xyz`, as scipy's HiGHS solves it."""
    w = weights()
    same = np.stack([w[:, 0] - xyz[0] / xyz[1] * w[:, 1], w[:, 2] - xyz[2] / xyz[1] * w[:, 1]])
    found = linprog(
        -w[:, 1], A_eq=same, b_eq=[0, 0], bounds=[(0, top) for top in ceiling], method="highs"
    )
    return float(-found.fun)


def test_largest_luminance_is_that_of_the_linear_programme() -> None:
    """Against scipy.optimize.linprog (HiGHS), an independent solver."""
    random = np.random.default_rng(5)

    for _ in range(40):
        ceiling = random.uniform(0.05, 0.95, BANDS)
        xyz = weights().T @ (ceiling * random.uniform(0.1, 1.0, BANDS))

        share = 1.0 / float(Solid(ceiling).reach(xyz))

        assert xyz[1] * share == pytest.approx(_programme(xyz, ceiling), rel=1e-7)


def _share_of_hull(points: np.ndarray, rays: np.ndarray) -> np.ndarray:
    """Return the factor by which each ray can be scaled within the convex hull of points."""
    hull = ConvexHull(points).equations
    reach = rays @ hull[:, :3].T
    with np.errstate(divide="ignore"):
        scaled: np.ndarray = np.where(reach > 1e-12, -hull[:, 3] / reach, np.inf).min(axis=1)
        return scaled


def _bands(observer: str) -> tuple[np.ndarray, object, object]:
    """Return weights at 10 nm (Y = 100 for white), and colour-science's own objects."""
    colour = colour_science()
    shape = colour.SpectralShape(400, 700, 10)
    functions = colour.MSDS_CMFS[observer].copy().align(shape)
    illuminant = colour.SDS_ILLUMINANTS["D65"].copy().align(shape)
    product = functions.values * illuminant.values[:, None]
    return 100.0 * product / product[:, 1].sum(), functions, illuminant


def test_under_a_white_ceiling_the_solid_is_that_of_colour_science() -> None:
    """Against colour.volume.XYZ_outer_surface (optimal colours, D65, 10 degrees)."""
    bands, functions, illuminant = _bands("CIE 1964 10 Degree Standard Observer")
    surface = 100.0 * colour_science().volume.XYZ_outer_surface(functions, illuminant)
    rays = np.random.default_rng(1).uniform(0.0, 1.0, (500, BANDS)) ** 3 @ bands

    share = 1.0 / Solid(np.ones(BANDS)).reach(rays)

    assert share == pytest.approx(_share_of_hull(surface, rays), rel=1e-3)


def test_under_a_white_ceiling_it_meets_the_macadam_limits() -> None:
    """Against the table of optimal colours in colour-science (MacAdam limits, D65, 2 degrees).

    The table runs in steps of luminance and was computed at a finer step than 10 nm, hence
    the width.
    """
    colour = colour_science()
    bands, _, _ = _bands("CIE 1931 2 Degree Standard Observer")
    table = np.asarray(colour.volume.macadam_limits.OPTIMAL_COLOUR_STIMULI_ILLUMINANTS["D65"])
    optimal = 100.0 * colour.xyY_to_XYZ(table * [1.0, 1.0, 0.01])
    white = bands.sum(axis=0)
    rays = np.random.default_rng(1).uniform(0.0, 1.0, (500, BANDS)) ** 3 @ bands

    share = 1.0 / Solid(np.ones(BANDS), bands=bands).reach(rays)

    expected = _share_of_hull(np.concatenate([optimal, white[None], np.zeros((1, 3))]), rays)
    assert share == pytest.approx(expected, rel=0.03)


def _room(zone: engine.Zone, reflectance: np.ndarray) -> float:
    """Return the least distance by which colours keep to their side of the line. [levels]"""
    bed = prepare(zone, LINE, chart=CHART)
    judge = judge_of(bed, CHART)
    curve = engine.limit(zone, chart=CHART)
    lab = reflectance_to_lab(bed.reflectance() * reflectance)
    warmth = judge.warmth_left_percent(lab)
    cooler = warmth <= curve.warmth_left_percent[0]
    looks = judge.levels_deeper_looks(lab) - curve.at(warmth)
    measured = judge.levels_deeper_measured(lab) - measured_at(curve, warmth)
    return float(min(looks[cooler].min(), measured[cooler].min()))


@pytest.mark.parametrize("zone", ZONES, ids=lambda z: f"{z.lifted_level:g}/{z.undertone:g}")
def test_not_even_an_optimal_colour_lies_beyond_the_line(zone: engine.Zone) -> None:
    """The hardest that any deposit could do: all or nothing in each band, and shares of it."""
    random = np.random.default_rng(2)
    hard = blocks()[random.permutation(len(blocks()))[:6000]]
    softer = hard[:2000] * random.uniform(0.6, 1.0, (2000, 1))
    odd = 1.0 - random.uniform(0.0, 1.0, (2000, 1)) * hard[2000:4000]
    anything = random.uniform(0.0, 1.0, (1000, BANDS)) ** random.uniform(0.05, 2.0, (1000, 1))

    room = _room(zone, np.concatenate([hard, softer, odd, anything]))

    assert room > -0.002


def _finest(judge: engine.Judge, solid: Solid, warmth: float) -> tuple[float, float]:
    """Return the least depths at a warmth, as it looks and measured, by trying every cast."""
    cast = np.linspace(-15.0, 15.0, 601)
    low, high = np.zeros_like(cast), np.full_like(cast, judge.start_lab[0])
    for _ in range(24):
        middle = (low + high) / 2.0
        lab = judge.lab_at(lightness=middle, warmth_percent=warmth, cast=cast)
        holds = solid.holds(lab_to_xyz(lab))
        low, high = np.where(holds, middle, low), np.where(holds, high, middle)
    lab = judge.lab_at(lightness=high, warmth_percent=warmth, cast=cast)[high > 1.0]
    return (
        float(judge.levels_deeper_looks(lab).min()),
        float(judge.levels_deeper_measured(lab).min()),
    )


@pytest.mark.parametrize(
    "zone", [engine.Zone(7.5), engine.Zone(6, 1), engine.Zone(8, white_percent=25)]
)
def test_the_least_depth_is_that_of_a_far_finer_search(zone: engine.Zone) -> None:
    """Row by row: one that took the next cooler row's depth would be 0.02 levels off."""
    bed = prepare(zone, LINE, chart=CHART)
    judge = judge_of(bed, CHART)
    ceiling = bed.reflectance()
    start = float(judge.warmth_left_percent(judge.start_lab))
    warmth = np.linspace(start, -20.0, 97)
    looks, measured, _ = least_depths(judge, ceiling, warmth)
    solid = Solid(ceiling)

    for row in range(1, 97, 8):
        expected = _finest(judge, solid, float(warmth[row]))

        assert (looks[row], measured[row]) == pytest.approx(expected, abs=0.012)


def test_an_optimal_colour_reaches_the_line() -> None:
    """The line is not merely safe: something lies on it, all the way down."""
    zone = engine.Zone(7.5)
    curve = engine.limit(zone)
    bed = prepare(zone, LINE, chart=CHART)
    judge = judge_of(bed, CHART)
    lab = reflectance_to_lab(bed.reflectance() * blocks())
    warmth, looks = judge.warmth_left_percent(lab), judge.levels_deeper_looks(lab)

    for at, line in zip(curve.warmth_left_percent, curve.levels_deeper_looks, strict=True):
        assert looks[warmth <= at + 1e-9].min() - line < 0.2


@settings(max_examples=40, deadline=None)
@given(
    level=st.integers(2, 20).map(lambda n: n / 2),
    undertone=st.floats(-1, 1),
    porosity=st.floats(-1, 1),
    minutes=st.floats(1, 60),
    line=st.sampled_from([LINE, OTHER]),
    names=st.lists(st.integers(0, 46), min_size=1, max_size=4, unique=True),
    parts=st.lists(st.integers(1, 8), min_size=4, max_size=4),
)
def test_no_mix_lies_beyond_the_line(  # noqa: PLR0917
    level: float,
    undertone: float,
    porosity: float,
    minutes: float,
    line: engine.Line,
    names: list[int],
    parts: list[int],
) -> None:
    zone = engine.Zone(level, undertone, porosity=porosity)
    mix = {line.names[n]: part for n, part in zip(names, parts, strict=False)}
    bed = prepare(zone, line, minutes=minutes, chart=CHART)
    judge = judge_of(bed, CHART)
    lab = reflectance_to_lab(bed.mixed(bed.fractions(mix)))
    curve = limit_of(judge, bed.reflectance())
    warmth = float(judge.warmth_left_percent(lab))

    assert float(judge.levels_deeper_looks(lab)) >= float(curve.at(warmth)) - 1e-3
    assert float(judge.levels_deeper_measured(lab)) >= float(measured_at(curve, warmth)) - 1e-3


@pytest.mark.parametrize("level", [5.0, 6.0, 7.0, 8.0, 9.0, 10.0])
@pytest.mark.parametrize("line", [LINE, OTHER], ids=lambda line: line.name)
def test_the_frontier_keeps_to_its_side(level: float, line: engine.Line) -> None:
    result = engine.search(engine.Zone(level), line)

    for mix in result.frontier:
        assert mix.levels_deeper_looks >= float(result.curve.at(mix.warmth_left_percent)) - 1e-6


def test_no_residual_toner_moves_a_mix_beyond_the_line() -> None:
    residual = engine.Residual(LINE, {"8 strong violet-blue": 1}, washes=4)
    result = engine.search(engine.Zone(8, residual=residual), LINE)

    for mix in result.frontier:
        if mix.warmth_left_percent <= result.curve.warmth_left_percent[0]:
            at = float(result.curve.at(mix.warmth_left_percent))
            assert mix.levels_deeper_looks >= at - 1e-6


def test_cooler_is_never_lighter_along_the_line() -> None:
    for level in np.arange(1.0, 10.1, 1.0):
        curve = engine.limit(engine.Zone(float(level)))

        assert len(curve.warmth_left_percent) == 25
        assert (np.diff(curve.warmth_left_percent) < 0).all()
        assert (np.diff(curve.levels_deeper_looks) >= 0).all()
        assert (np.diff(curve.levels_deeper_measured) >= 0).all()


def test_neutrality_from_a_usual_base_costs_one_to_three_levels() -> None:
    """From level 7.8 yellow-orange to as neutral as natural hair (model; compare the chart)."""
    curve = engine.limit(engine.Zone(7.8))

    assert 1.0 < float(curve.at(0.0)) < 3.0
    assert float(curve.at(0.0)) > float(measured_at(curve, 0.0))


def test_a_wish_beyond_the_line_is_named_so() -> None:
    curve = engine.limit(engine.Zone(7.5))

    assert engine.is_beyond(curve, warmth=0.0, levels_deeper_looks=0.5)
    assert not engine.is_beyond(curve, warmth=0.0, levels_deeper_looks=4.0)


@pytest.mark.parametrize("points", [1, 201, 2.5])
def test_points_out_of_range_are_named(points: float) -> None:
    with pytest.raises(ValueError, match=r"points \[count\]"):
        engine.limit(engine.Zone(7.5), points=points)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "ceiling", [np.full(BANDS, 1.2), np.full(30, 0.5), np.full(BANDS, np.nan)]
)
def test_a_ceiling_that_is_no_reflectance_is_named(ceiling: np.ndarray) -> None:
    with pytest.raises(ValueError, match="ceiling"):
        Solid(ceiling)


@pytest.mark.parametrize("minutes", [None, 5.0])
@pytest.mark.parametrize(
    "zone",
    [
        engine.Zone(7.5),
        engine.Zone(9.5, undertone=0.5, white_percent=40.0, porosity=0.6),
        engine.Zone(8.0, residual=engine.Residual(LINE, {"9 violet": 1}, washes=3)),
    ],
)
def test_the_line_of_a_search_is_the_line_of_its_zone(
    zone: engine.Zone, minutes: float | None
) -> None:
    """No shade, stock or time moves it, so it may be computed once for all of them."""
    alone = engine.limit(zone)
    searched = engine.search(zone, LINE, minutes=minutes, max_shades=1, max_parts=1).curve

    for name, values in vars(alone).items():
        assert np.array_equal(getattr(searched, name), values)
