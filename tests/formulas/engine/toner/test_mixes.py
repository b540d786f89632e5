"""The numbering of mixes: every primitive mix once, and nothing else."""

import itertools
from math import gcd

import numpy as np
import pytest

from formulas.engine.toner.mixes import MixSpace, primitive_patterns


def _plainly(count: int, max_shades: int, max_parts: int) -> set[tuple[tuple[int, int], ...]]:
    return {
        tuple(zip(shades, parts, strict=True))
        for used in range(1, max_shades + 1)
        for shades in itertools.combinations(range(count), used)
        for parts in itertools.product(range(1, max_parts + 1), repeat=used)
        if sum(parts) <= max_parts and gcd(*parts) == 1
    }


def test_sixty_shades_make_669710_mixes() -> None:
    assert MixSpace(60, max_shades=3, max_parts=6).size == 669_710


@pytest.mark.parametrize(
    ("count", "max_shades", "max_parts"),
    [(6, 3, 6), (7, 4, 6), (6, 4, 8), (2, 3, 6), (1, 4, 8)],
)
def test_every_primitive_mix_has_one_number(
    count: int, max_shades: int, max_parts: int
) -> None:
    space = MixSpace(count, max_shades=max_shades, max_parts=max_parts)

    shades, parts = space.decode(np.arange(space.size))

    mixes = [
        tuple((int(s), int(p)) for s, p in zip(*row, strict=True) if p)
        for row in zip(shades, parts, strict=True)
    ]
    assert len(set(mixes)) == space.size
    assert set(mixes) == _plainly(count, max_shades, max_parts)


def test_patterns_of_three_in_six_parts() -> None:
    # 20 ordered splits of 3 to 6 parts, less 2:2:2.
    assert len(primitive_patterns(3, 6)) == 19


def test_fractions_sum_to_one() -> None:
    space = MixSpace(8, max_shades=4, max_parts=7)

    fractions = space.fractions(np.arange(space.size))

    assert fractions.sum(axis=1) == pytest.approx(1.0)
    assert ((fractions > 0).sum(axis=1) <= 4).all()
