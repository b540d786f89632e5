"""What moved a result how far: terms that add up to the whole change.

Each term's share is the integral of its own pull along the straight way from no deposit to
all of it, so that no order of the shades is preferred and the shares add up exactly.

References
----------
.. [1] Aumann & Shapley 1974, Values of Non-Atomic Games (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from formulas.engine.hair.appearance import Judge
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.toner.deposit import Bed

_NODES, _NODE_WEIGHTS = np.polynomial.legendre.leggauss(16)
_STEP = 1e-5


@dataclass(frozen=True)
class Term:
    """How far one part of the deposit moved the result.

    Attributes
    ----------
    shade : str
        Name of the shade; empty where the term concerns the whole mix.
    part : str
        "neutral", a pigment family, "swatch" (a measured shade); for the whole mix "time",
        "porosity", "developer", "take" (how far each differs from the line's own recipe on
        usual hair) or "residual" (toner from the last visit).
    warmth_percent : float
        Change of the warmth left; negative takes warmth out. [%]
    levels_deeper : float
        Change of the depth as it looks. [levels]
    """

    shade: str
    part: str
    warmth_percent: float
    levels_deeper: float


def terms(bed: Bed, fractions: Array, judge: Judge) -> tuple[Term, ...]:
    """Return what each part of the deposit did; the terms add up to the whole change.

    Parameters
    ----------
    bed : Bed
    fractions : (n,) float array
        Weight fractions.
    judge : Judge
    """
    labels: list[tuple[str, str]] = []
    loads: list[Array] = []
    for i in np.flatnonzero(fractions):
        for part, load in bed.parts[i].items():
            labels.append((bed.names[i], part))
            loads.append(fractions[i] * bed.learned[i] * load)
    if not loads:
        return ()
    laid = np.sum(loads, axis=0)
    so_far = 1.0
    for name, factor in bed.factors.items():
        if abs(factor - 1.0) > 1e-12:
            labels.append(("", name))
            loads.append((factor - 1.0) * so_far * laid)
        so_far *= factor
    change = read(judge, bed.base_ks + so_far * laid) - read(judge, bed.base_ks)
    shares = _shares(bed.base_ks, np.stack(loads), judge, change)
    return tuple(
        Term(name, part, float(warmth), float(levels))
        for (name, part), (warmth, levels) in zip(labels, shares, strict=True)
    )


def residual_term(bed: Bed, judge: Judge) -> Term | None:
    """Return what toner from the last visit had done before; not part of the sum of `terms`."""
    if not bed.residual_ks.any():
        return None
    warmth, levels = read(judge, bed.base_ks) - read(judge, bed.hair_ks)
    return Term("", "residual", float(warmth), float(levels))


def by_part(found: Sequence[Term]) -> dict[str, tuple[float, float]]:
    """Return (warmth %, levels deeper) summed by part, the strongest on warmth first."""
    totals: dict[str, tuple[float, float]] = {}
    for term in found:
        warmth, levels = totals.get(term.part, (0.0, 0.0))
        totals[term.part] = (warmth + term.warmth_percent, levels + term.levels_deeper)
    return dict(sorted(totals.items(), key=lambda item: (-abs(item[1][0]), item[0])))


def read(judge: Judge, ks: Array) -> Array:
    """Return (warmth left %, levels deeper as it looks) of K/S (..., 31), shape (..., 2)."""
    lab = reflectance_to_lab(to_reflectance(ks))
    return np.stack([judge.warmth_left_percent(lab), judge.levels_deeper_looks(lab)], axis=-1)


def _shares(base: Array, loads: Array, judge: Judge, change: Array) -> Array:
    """Return each load's part of `change`, (m, 2)."""
    places = (_NODES[:, None, None] + 1.0) / 2.0
    way = base + places * loads.sum(axis=0)  # (nodes, 1, 31)
    pull = read(judge, way + _STEP * loads) - read(judge, way - _STEP * loads)
    shares = np.einsum("n,nmk->mk", _NODE_WEIGHTS / 2.0, pull) / (2.0 * _STEP)
    # What the finite steps left over goes to the terms by their size.
    size = np.abs(shares)
    total = size.sum(axis=0)
    even = np.full_like(size, 1.0 / len(size))
    part = np.divide(size, total, out=even, where=total > 0)
    return np.asarray(shares + part * (change - shares.sum(axis=0)))
