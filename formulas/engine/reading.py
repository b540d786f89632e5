"""Single-precision reading of many colours at once: warmth left and L**.

The same quantities as `appearance.Judge`, with cube roots and the chart's natural colour
taken from fine tables. The tests hold it to the judge.
"""

import numpy as np

from formulas.engine.appearance import FULL_CAST, Judge
from formulas.engine.grid import Single
CAST_TOLERANCE=1e9

_STEPS_PER_LIGHTNESS = 64


class FastReader:
    """Reads XYZ relative to white into warmth left (%) and L**; NaN where the cast is seen."""

    def __init__(self, judge: Judge) -> None:
        grid = (np.arange(100 * _STEPS_PER_LIGHTNESS + 2) / _STEPS_PER_LIGHTNESS).astype(float)
        natural = judge.lab_at(lightness=grid, warmth_percent=0.0, cast=0.0)[:, 1:]
        across = np.array([-judge.axis[1], judge.axis[0]])
        scale = 100.0 / judge.starting_warmth
        self._along_natural = (natural @ judge.axis * scale).astype(np.float32)
        self._across_natural = (natural @ across).astype(np.float32)
        self._percent_per_cast_squared = np.float32(scale / FULL_CAST)
        # a* = 500 (fx - fy), b* = 200 (fy - fz): warmth and cast as sums over (fx, fy, fz).
        to_ab = np.array([[500.0, 0.0], [-500.0, 200.0], [0.0, -200.0]])
        self._from_f = np.stack(
            [to_ab @ judge.axis * scale, to_ab @ across, to_ab[:, 0], to_ab[:, 1]], axis=1
        ).astype(np.float32)

    def read(self, xyz: Single, warmth: Single, lightness: Single) -> None:
        """Read `xyz` (n, 3), 1 for white, into `warmth` and `lightness` (n,), all float32."""
        f = np.cbrt(xyz)
        if xyz.min() < 0.008856:
            f = np.where(xyz > 0.008856452, f, xyz * 7.787037 + 0.13793103)
        along, cast, a, b = (f @ self._from_f).T
        light = 116.0 * f[:, 1] - 16.0
        place = (light * _STEPS_PER_LIGHTNESS + 0.5).astype(np.int32)
        np.subtract(along, self._along_natural[place], out=warmth)
        leaning = cast - self._across_natural[place]
        warmth += leaning * leaning * self._percent_per_cast_squared
        warmth[np.abs(leaning) > CAST_TOLERANCE] = np.nan
        chroma = np.sqrt(a * a + b * b)
        half_sine = np.sqrt(np.maximum(chroma * (chroma - b), 0.0) * 0.5)
        bright = half_sine
        bright *= 0.116
        chroma *= 0.085
        bright += chroma
        bright *= 2.5 - 0.025 * light
        np.add(light, bright, out=lightness)
