"""What must hold for every zone and mix."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formulas.engine import Chart, Zone, demo_lines, prepare
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.prediction.numbers import judge_of

CHART = Chart.default()
LINES = tuple(demo_lines().values())
FEW = replace(LINES[0], shades=LINES[0].shades[::4])

zones = st.builds(
    Zone,
    st.floats(1, 10),
    st.floats(-1, 1),
    st.floats(0, 100),
    st.floats(-1, 1),
)
mixes = st.dictionaries(st.sampled_from(FEW.names), st.integers(1, 6), min_size=1, max_size=3)


def _lab(zone: Zone, parts: dict[str, float], **how: object) -> np.ndarray:
    bed = prepare(zone, FEW, **how)  # type: ignore[arg-type]
    return reflectance_to_lab(bed.mixed(bed.fractions(parts)))


def _readings(zone: Zone, parts: dict[str, float], **how: object) -> np.ndarray:
    bed = prepare(zone, FEW, **how)  # type: ignore[arg-type]
    judge = judge_of(bed, CHART)
    lab = reflectance_to_lab(bed.mixed(bed.fractions(parts)))
    return np.array([judge.warmth_left_percent(lab), judge.levels_deeper_looks(lab)])


@given(zones, mixes, st.floats(0.1, 5))
def test_stronger_shades_never_leave_hair_lighter(
    zone: Zone, parts: dict[str, float], more: float
) -> None:
    strengths = dict.fromkeys(FEW.names, 1.0)

    plain = _lab(zone, parts, strengths=strengths)
    strong = _lab(zone, parts, strengths=dict.fromkeys(strengths, 1.0 + more))

    assert strong[0] <= plain[0] + 1e-9


@given(zones, mixes, st.floats(0, 90), st.floats(0, 90))
def test_longer_never_leaves_hair_lighter(
    zone: Zone, parts: dict[str, float], minutes: float, more: float
) -> None:
    short = _lab(zone, parts, minutes=minutes)
    long = _lab(zone, parts, minutes=minutes + more)

    assert long[0] <= short[0] + 1e-9


@given(zones, mixes)
def test_no_deposit_lightens(zone: Zone, parts: dict[str, float]) -> None:
    bed = prepare(zone, FEW)
    reflectance = bed.mixed(bed.fractions(parts))

    assert np.all(reflectance <= bed.reflectance() + 1e-12)


@given(zones, mixes)
def test_order_of_the_shades_does_not_matter(zone: Zone, parts: dict[str, float]) -> None:
    backwards = dict(reversed(list(parts.items())))
    other = replace(FEW, shades=FEW.shades[::-1])
    bed = prepare(zone, other)

    found = reflectance_to_lab(bed.mixed(bed.fractions(backwards)))

    np.testing.assert_allclose(found, _lab(zone, parts), atol=1e-9)


@given(zones, mixes, st.floats(0.01, 100))
def test_only_the_proportion_of_parts_counts(
    zone: Zone, parts: dict[str, float], scale: float
) -> None:
    scaled = {name: part * scale for name, part in parts.items()}

    np.testing.assert_allclose(_lab(zone, scaled), _lab(zone, parts), atol=1e-9)


@given(zones, mixes)
def test_no_deposit_changes_nothing(zone: Zone, parts: dict[str, float]) -> None:
    bed = prepare(zone, FEW)
    start = reflectance_to_lab(bed.reflectance())

    np.testing.assert_allclose(_lab(zone, parts, minutes=0), start, atol=1e-9)
    clear = replace(LINES[0], shades=(LINES[0].shade("clear"),))
    toned = prepare(zone, clear)
    np.testing.assert_allclose(toned.mixed(np.ones(1)), bed.reflectance())


@given(
    st.tuples(
        st.floats(1, 9.999), st.floats(-1, 0.999), st.floats(0, 99.99), st.floats(-1, 0.999)
    ),
    mixes,
    st.floats(0.5, 60),
)
@settings(max_examples=150)
def test_readings_change_without_jumps(
    reading: tuple[Any, ...], parts: dict[str, float], minutes: float
) -> None:
    step = 1e-5
    here = _readings(Zone(*reading), parts, minutes=minutes)
    near = _readings(
        Zone(*(value + step for value in reading)),
        {name: part * (1 + step * n) for n, (name, part) in enumerate(parts.items())},
        minutes=minutes + step,
    )

    assert np.all(np.abs(near - here) < [0.5, 0.01])


@given(
    zones,
    st.sampled_from([name for name in FEW.names if name.endswith("natural")]),
)
def test_a_darker_natural_deepens_more(zone: Zone, name: str) -> None:
    shade = FEW.shade(name)
    if shade.level is None or shade.level <= 1.5:
        return
    darker = replace(FEW, shades=(replace(shade, level=shade.level - 0.5),))
    bed = prepare(zone, darker)

    deep = reflectance_to_lab(bed.mixed(np.ones(1)))

    assert deep[0] < _lab(zone, {name: 1})[0]


@pytest.mark.parametrize("line", LINES, ids=lambda line: line.name)
@pytest.mark.parametrize("level", [5, 6, 7.5, 9, 10])
def test_deposit_of_every_shade_is_finite(line: object, level: float) -> None:
    bed = prepare(Zone(level), line)  # type: ignore[arg-type]

    assert np.all(np.isfinite(bed.loads))
    assert np.all(bed.loads >= 0)
