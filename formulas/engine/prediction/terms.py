"""What moved a result how far: terms that add up to the whole change.

Each term's share is the integral of its own pull along the straight way from no deposit to
all of it, so that no order of the shades is preferred and the shares add up exactly.

References
----------
.. [1] Aumann & Shapley 1974, Values of Non-Atomic Games (from memory).
"""

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
        "porosity", "developer", "take", "lift", "room" (how far each differs from the line's
        own recipe on white hair) or "residual" (toner from the last visit).
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
            loads.append(np.tile(fractions[i] * bed.learned[i] * load, (len(bed.shares), 1)))
    if not loads:
        return ()
    laid = np.sum(loads, axis=0)  # on each kind of fibre, (k, 31)
    so_far = np.ones(len(bed.shares))
    shared = {name: np.full_like(so_far, factor) for name, factor in bed.factors.items()}
    for name, factor in (*shared.items(), *bed.fibre_factors.items()):
        if np.abs(factor - 1.0).max() > 1e-12:
            labels.append(("", name))
            loads.append(((factor - 1.0) * so_far)[:, None] * laid)
        so_far = so_far * factor
    shares = _shares(bed, np.stack(loads), judge)
    return tuple(
        Term(name, part, float(warmth), float(levels))
        for (name, part), (warmth, levels) in zip(labels, shares, strict=True)
    )


def residual_term(bed: Bed, judge: Judge) -> Term | None:
    """Return what toner from the last visit had done before; not part of the sum of `terms`."""
    if not bed.residual_ks.any():
        return None
    warmth, levels = read(judge, bed.reflectance()) - read(judge, bed.hair_reflectance())
    return Term("", "residual", float(warmth), float(levels))


def read(judge: Judge, reflectance: Array) -> Array:
    """Return (warmth left %, levels deeper as it looks) of reflectances, (..., 2)."""
    lab = reflectance_to_lab(reflectance)
    return np.stack([judge.warmth_left_percent(lab), judge.levels_deeper_looks(lab)], axis=-1)


def _shares(bed: Bed, loads: Array, judge: Judge) -> Array:
    """Return the part of each load in the whole change, (m, 2).

    `loads` lie on each kind of fibre, (m, k, 31).
    """

    def seen(laid: Array) -> Array:
        by_fibre = to_reflectance(bed.base_ks + laid)
        return read(judge, np.einsum("k,...kb->...b", bed.shares, by_fibre))

    whole = loads.sum(axis=0)
    change = seen(whole) - seen(np.zeros_like(whole))
    places = (_NODES[:, None, None, None] + 1.0) / 2.0
    way = places * whole  # (nodes, 1, k, 31)
    pull = seen(way + _STEP * loads) - seen(way - _STEP * loads)
    shares = np.einsum("n,nmk->mk", _NODE_WEIGHTS / 2.0, pull) / (2.0 * _STEP)
    # What the finite steps left over goes to the terms by their size.
    size = np.abs(shares)
    total = size.sum(axis=0)
    even = np.full_like(size, 1.0 / len(size))
    part = np.divide(size, total, out=even, where=total > 0)
    return np.asarray(shares + part * (change - shares.sum(axis=0)))
