"""Mixes read in double precision: the numbers that `predict` gives."""

from dataclasses import dataclass

import numpy as np

from formulas.engine.hair.appearance import Judge
from formulas.engine.light.colorimetry import lab_to_hex, reflectance_to_lab
from formulas.engine.light.grid import Array, Rows
from formulas.engine.toner.deposit import Bed
from formulas.engine.toner.mixes import MixSpace


@dataclass(frozen=True)
class Candidate:
    """One mix and how it reads.

    Attributes
    ----------
    parts : tuple of (shade name, whole parts), by name
    warmth_left_percent, levels_deeper_measured, levels_deeper_looks, cast : float
        See `Prediction`.
    lab : tuple of 3 float
    """

    parts: tuple[tuple[str, int], ...]
    warmth_left_percent: float
    levels_deeper_measured: float
    levels_deeper_looks: float
    cast: float
    lab: tuple[float, float, float]

    @property
    def hex(self) -> str:
        """Screen colour, dry."""
        return lab_to_hex(self.lab)


@dataclass(frozen=True, eq=False)
class Readings:
    """Many mixes of one search, read at once; all arrays run over the same rows."""

    rows: Rows
    lab: Array
    warmth: Array
    measured: Array
    looks: Array
    cast: Array

    def at(self, places: Rows) -> "Readings":
        """Return the readings at some places, in that order."""
        return Readings(*(array[places] for array in vars(self).values()))


def read_rows(bed: Bed, judge: Judge, space: MixSpace, rows: Rows) -> Readings:
    """Return the readings of row numbers (n,), in the same order."""
    return read_fractions(bed, judge, np.asarray(rows, dtype=np.int64), space.fractions(rows))


def read_fractions(bed: Bed, judge: Judge, rows: Rows, fractions: Array) -> Readings:
    """Return the same where the weight fractions (n, shades) of the rows are known."""
    lab = reflectance_to_lab(bed.mixed(fractions))
    return Readings(
        rows,
        lab,
        judge.warmth_left_percent(lab),
        judge.levels_deeper_measured(lab),
        judge.levels_deeper_looks(lab),
        judge.cast(lab),
    )


def candidates(readings: Readings, names: tuple[str, ...], space: MixSpace) -> list[Candidate]:
    """Return one object per row, in the same order."""
    shades, parts = space.decode(readings.rows)
    return [
        Candidate(
            tuple((names[s], int(p)) for s, p in zip(shades[n], parts[n], strict=True) if p),
            float(readings.warmth[n]),
            float(readings.measured[n]),
            float(readings.looks[n]),
            float(readings.cast[n]),
            (float(lab[0]), float(lab[1]), float(lab[2])),
        )
        for n, lab in enumerate(readings.lab)
    ]
