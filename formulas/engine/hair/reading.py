"""Many colours at once: XYZ to warmth left and L**, in single precision.

The same quantities as `appearance.Judge`, with the chart's natural colour from a fine table.
`tolerance` says how far they can be off, so that whoever picks by them can keep a margin
and decide in double precision; the tests hold the reader to the judge.
"""

import numpy as np

from formulas.engine.hair.appearance import FULL_CAST, Judge
from formulas.engine.light.colorimetry import lab_to_xyz
from formulas.engine.light.grid import Single, white

_STEPS_PER_LIGHTNESS = 256
_EPSILON = 0.008856451679
# Relative error of a value in single precision that a dozen steps have rounded.
_ROUNDING = 1e-6
# At h = 90 the half sine is a difference of equals, rounded; then it is small, too. [L**]
_NEAR_YELLOW = 5e-3


class FastReader:
    """Reads XYZ relative to white into warmth left (%) and L**.

    Parameters
    ----------
    judge : Judge
    most_rows : int
        The most colours read at once.
    lab : (3, n) float32 array, optional
        Takes the L*a*b* of what is read, in the order in which it is read; good to 0.001.
    """

    def __init__(self, judge: Judge, most_rows: int, lab: Single | None = None) -> None:
        self._lab, self._read = lab, 0
        # As far as L** can be: rows beyond white do not exist.
        grid = np.arange(101 * _STEPS_PER_LIGHTNESS) / _STEPS_PER_LIGHTNESS
        natural = judge.lab_at(lightness=grid, warmth_percent=0.0, cast=0.0)[:, 1:]
        across = np.array([-judge.axis[1], judge.axis[0]])
        scale = 100.0 / judge.starting_warmth
        along, cast = natural @ judge.axis * scale, natural @ across
        self._natural = (along + 1j * cast).astype(np.complex64)
        # a* = 500 (fx - fy), b* = 200 (fy - fz): warmth and cast as sums over (fx, fy, fz).
        to_ab = np.array([[500.0, 0.0], [-500.0, 200.0], [0.0, -200.0]])
        rows = [to_ab @ judge.axis * scale, to_ab @ across, to_ab[:, 0], to_ab[:, 1]]
        self._from_f = np.stack(rows).astype(np.float32)
        self._square = np.float32(scale / FULL_CAST)
        self._scale = float(scale)
        self._table_steps = np.abs(np.diff(along)).max(), np.abs(np.diff(cast)).max()
        # No mix is lighter than the start in any band, so its f are the largest.
        self._largest_f = np.cbrt(lab_to_xyz(judge.start_lab) / white()) + 0.01
        self.widest_cast = 0.0
        self._f = np.empty((3, most_rows), np.float32)
        self._sums = np.empty((4, most_rows), np.float32)
        self._light = np.empty(most_rows, np.float32)
        self._place = np.empty(most_rows, np.int64)
        self._found = np.empty(most_rows, np.complex64)

    def tolerance(
        self, *, relative: float = 0.0, widest: float | None = None
    ) -> tuple[float, float]:
        """Return how far warmth (%) and L** can be off.

        Parameters
        ----------
        relative : float
            Relative error of the XYZ that are read. [unitless]
        widest : float, optional
            The strongest cast among them; that of all colours read so far if left out. [a*b*]
        """
        widest = self.widest_cast if widest is None else widest
        # The cube root thirds a relative error; on its linear part 0.07 is the most.
        off = np.maximum(self._largest_f / 3.0, 0.07) * relative + self._largest_f * _ROUNDING
        along, across, a, b = np.abs(self._from_f) @ off
        steepest = 2.0 * widest / FULL_CAST * self._scale  # % warmth per unit of cast
        step_along, step_across = self._table_steps
        warmth = along + step_along / 2.0 + steepest * (across + step_across / 2.0)
        # L** moves with L*, and with chroma by less than 0.7 (at h = 270 and L* = 0).
        return float(warmth), float(116.0 * off[1] + 0.7 * np.hypot(a, b) + _NEAR_YELLOW)

    def read(self, xyz: Single, warmth: Single, lightness: Single) -> None:
        """Read `xyz` (3, n), 1 for white, into `warmth` and `lightness` (n,), all float32."""
        rows = xyz.shape[1]
        f, sums = self._f[:, :rows], self._sums[:, :rows]
        light, place, natural = self._light[:rows], self._place[:rows], self._found[:rows]
        np.cbrt(xyz, out=f)
        if xyz.min() < _EPSILON:
            np.copyto(
                f, xyz * np.float32(7.787037) + np.float32(16 / 116), where=xyz < _EPSILON
            )
        np.matmul(self._from_f, f, out=sums)
        along, cast, a, b = sums
        np.multiply(f[1], np.float32(116.0), out=light)
        light -= np.float32(16.0)
        if self._lab is not None:
            kept = self._lab[:, self._read : self._read + rows]
            kept[0], kept[1], kept[2] = light, a, b
            self._read += rows
        np.multiply(light, np.float32(_STEPS_PER_LIGHTNESS), out=warmth)
        warmth += np.float32(0.5)
        np.copyto(place, warmth, casting="unsafe")
        np.take(self._natural, place, out=natural, mode="clip")
        cast -= natural.imag
        self.widest_cast = max(self.widest_cast, float(cast.max()), -float(cast.min()))
        cast *= cast
        cast *= self._square
        along -= natural.real
        np.add(along, cast, out=warmth)
        # L** = L* + (2.5 - 0.025 L*) (0.116 sqrt(C* (C* - b*) / 2) + 0.085 C*)
        chroma = f[0]
        np.multiply(b, b, out=cast)
        a *= a
        a += cast
        np.sqrt(a, out=chroma)
        np.subtract(chroma, b, out=b)
        b *= chroma
        np.maximum(b, np.float32(0.0), out=b)
        np.sqrt(b, out=b)
        b *= np.float32(0.116 / np.sqrt(2.0))
        chroma *= np.float32(0.085)
        chroma += b
        np.multiply(light, np.float32(-0.025), out=lightness)
        lightness += np.float32(2.5)
        lightness *= chroma
        lightness += light
