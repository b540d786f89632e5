"""What a mix lays onto hair: K/S of the base plus the deposit.

K/S = K/S_hair + K/S_residual + sum(fraction_i * load_i * uptake * dilution * room)

`load_i` is what the shade gives on white hair by its line's recipe; uptake goes by time,
porosity and how far the hair was lifted; room is what toner that is still there leaves.

Where white fibres lie among pigmented ones, each kind takes the deposit by itself: white fibres
the nominal one, pigmented ones by their lift. Then their reflectances average.

Additive K/S of dyes on fibre: Allen 1980, eq. 20; Safi & Amirshahi 2023 (Sci. Rep.) find
Kubelka-Munk the more reliable model for dyed textile.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from formulas.engine import checks
from formulas.engine.checks import EngineRefusal
from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.grid import BANDS, Array, weights
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.light.wet import wetting_ratio
from formulas.engine.toner import calibration
from formulas.engine.toner.lines import Line
from formulas.engine.toner.shades import white_hair_ks
from formulas.engine.toner.uptake import (
    dilution,
    kept,
    lift_factor,
    porosity_factor,
    time_factor,
)
from formulas.engine.toner.zone import Zone


@dataclass(frozen=True, eq=False)
class Bed:
    """A zone ready to be toned with one line: plain arrays for prediction and search.

    Attributes
    ----------
    shares : (k,) float array
        Of each kind of fibre: pigmented, white, or both; they sum to one.
    hair_ks : (k, 31) float array
        K/S of the fibres alone.
    warm_ks : (31,) float array
        K/S of pigmented fibres, whether there are any or not.
    residual_ks : (k, 31) float array
        K/S of toner still present.
    uptake : (k,) float array
        What each kind takes of a deposit: the product of `fibre_factors`.
    neutral_loads, tone_loads : (n, 31) float arrays
        K/S that each shade adds to fibres of uptake 1 per unit weight fraction, with
        everything in `factors`. A measured swatch counts among the neutral ones.
    names : tuple of n str
    parts : tuple of n mappings of part ("neutral", a family or "swatch") to K/S (31,)
        The same loads before `factors`: the line's own recipe and time, normal porosity.
    factors : mapping of "time", "porosity", "developer", "take" to float
    fibre_factors : mapping of "lift", "room" to (k,) float array
    learned : (n,) float array
        Learned strengths.
    """

    shares: Array
    hair_ks: Array
    warm_ks: Array
    residual_ks: Array
    uptake: Array
    neutral_loads: Array
    tone_loads: Array
    names: tuple[str, ...]
    parts: tuple[Mapping[str, Array], ...]
    factors: Mapping[str, float]
    fibre_factors: Mapping[str, Array]
    learned: Array

    @property
    def base_ks(self) -> Array:
        """K/S of the fibres before this toning, (k, 31)."""
        return self.hair_ks + self.residual_ks

    @property
    def loads(self) -> Array:
        """K/S per unit weight fraction on fibres of uptake 1, (n, 31)."""
        return self.neutral_loads + self.tone_loads

    def hair_reflectance(self) -> Array:
        """Return the reflectance of the hair without any toner, (31,)."""
        return self._averaged(to_reflectance(self.hair_ks))

    def reflectance(self, deposit: ArrayLike = 0.0) -> Array:
        """Return the reflectance (..., 31) after a deposit of K/S (..., 31)."""
        return self._averaged(to_reflectance(self.fibre_ks(deposit)))

    def fibre_ks(self, deposit: ArrayLike = 0.0) -> Array:
        """Return K/S of the fibres (..., k, 31) after a deposit of K/S (..., 31)."""
        laid = np.broadcast_to(deposit, (*np.shape(deposit)[:-1], BANDS))[..., None, :]
        return np.asarray(self.base_ks + self.uptake[:, None] * laid)

    def mixed(self, fractions: ArrayLike) -> Array:
        """Return the reflectance (..., 31) after toning with weight fractions (..., n)."""
        return self.reflectance(np.asarray(fractions) @ self.loads)

    def damp(self, deposit: ArrayLike = 0.0, *, wetting: ArrayLike = 1.0) -> Array:
        """Return the damp reflectance (..., 31) after a deposit; water lies on every fibre.

        `wetting` (...) is a factor on the wetting ratio, which is never less than 1.
        """
        ks = self.fibre_ks(deposit)
        dry = reflectance_to_lab(to_reflectance(ks))
        each = np.asarray(wetting)[..., None]  # for every fibre
        ratio = np.maximum(each * wetting_ratio(dry[..., 0]), 1.0)[..., None]
        return self._averaged(to_reflectance(ks * ratio))

    def _averaged(self, by_fibre: Array) -> Array:
        return np.asarray(np.einsum("k,...kb->...b", self.shares, by_fibre))

    def fractions(self, parts: Mapping[str, float]) -> Array:
        """Return weight fractions (n,) of parts by shade name; they sum to one.

        Raises
        ------
        ValueError
            If a name is not in the line, a part is not positive, or there are none.
        """
        if not parts:
            text = "parts [parts] must name at least one shade, given none"
            raise EngineRefusal("no_parts", text)
        values = np.zeros(len(self.names))
        for name, part in parts.items():
            if name not in self.names:
                text = f"parts: no shade {name!r} in this line; it has {', '.join(self.names)}"
                raise EngineRefusal("no_such_shade", text, name=str(name))
            values[self.names.index(name)] = checks.number(
                part, name=f"parts of {name}", unit="parts", low=1e-6, high=1e6
            )
        return np.asarray(values / values.sum())


def prepare(
    zone: Zone,
    line: Line,
    *,
    minutes: float | None = None,
    chart: Chart | None = None,
    strengths: Mapping[str, float] | None = None,
    developer_ratio: float | None = None,
) -> Bed:
    """Return the bed of a zone and a line.

    Parameters
    ----------
    zone : Zone
    line : Line
    minutes : float, optional
        Processing time; the line's own if left out. [min]
    chart : Chart, optional
    strengths : mapping of shade name to factor, optional
        Learned strengths, 0.05 to 20; 1 where a name is missing. [unitless]
    developer_ratio : float, optional
        Parts of developer to one of colour, where it differs from the line's.

    Raises
    ------
    ValueError
        If a number is out of range.
    """
    chart = chart or Chart.default()
    factors = {
        "time": time_factor(minutes, line=line),
        "porosity": porosity_factor(minutes, line=line, porosity=zone.porosity),
        "developer": dilution(line, developer_ratio),
        "take": zone.take,
    }
    shares, hair = zone.fibres(chart)
    of_fibres = {"lift": _lift(zone, line)}
    left = residual_ks(zone, chart)
    if left.any():
        of_fibres["room"] = room(left, zone.lifted_level, chart)
    learned = np.array([_learned(strengths, name) for name in line.names])
    parts = tuple(shade.loads(chart) for shade in line.shades)
    scale = learned[:, None] * float(np.prod(list(factors.values())))
    tones = [_total(load for part, load in p.items() if part not in _PLAIN) for p in parts]
    neutrals = [_total(load for part, load in p.items() if part in _PLAIN) for p in parts]
    return Bed(
        shares=shares,
        hair_ks=hair,
        warm_ks=chart.warmth_ks(zone.lifted_level, zone.undertone),
        residual_ks=left,
        uptake=np.prod(list(of_fibres.values()), axis=0),
        neutral_loads=scale * np.stack(neutrals),
        tone_loads=scale * np.stack(tones),
        names=line.names,
        parts=parts,
        factors=factors,
        fibre_factors=of_fibres,
        learned=learned,
    )


_LEAST_ROOM = 0.02
_PLAIN = {"neutral", "swatch"}


def _total(loads: Iterable[Array]) -> Array:
    return sum(loads, start=np.zeros(BANDS))


def _learned(strengths: Mapping[str, float] | None, name: str) -> float:
    value = (strengths or {}).get(name, 1.0)
    return checks.number(value, name=f"strength of {name}", unit="factor", low=0.05, high=20)


def _lift(zone: Zone, line: Line) -> Array:
    """Return the uptake of each kind of fibre, (k,): by its lift; white takes the nominal."""
    own = lift_factor(zone.lifted_level, zone.natural_level, kind=line.kind)
    return zone.by_fibre(own, 1.0)


def room(left: Array, level: float, chart: Chart) -> Array:
    """Return how much of its deposit hair takes where K/S `left` (..., 31) is still on it.

    A full load is one as dark as natural hair of the zone's own level; the sites are then
    taken, and permanent dyes add nothing after the first cycle (abstract of "Hair color
    changes caused by dyeing and thermal treatments"); a demi-permanent toner is given some.
    """
    seen = weights()[:, 1]
    full = float(np.maximum(chart.natural_ks(level) - white_hair_ks(), 1e-3) @ seen)
    filled = (left @ seen) / full
    return np.maximum(1.0 - calibration.ROOM_TAKEN * filled, _LEAST_ROOM)


def residual_ks(zone: Zone, chart: Chart) -> Array:
    """Return K/S of toner still present on each kind of fibre, (k, 31)."""
    residual = zone.residual
    if residual is None:
        return np.zeros_like(zone.fibres(chart)[1])
    line, before = residual.line, residual.porosity
    parts = line.resolved(residual.parts)
    used = replace(line, shades=tuple(line.shade(name) for name in parts))
    bed = prepare(
        replace(zone, porosity=zone.porosity if before is None else before, residual=None),
        used,
        minutes=residual.minutes,
        chart=chart,
        strengths=residual.strengths,
    )
    left = kept(residual.washes, kind=line.kind, porosity=zone.porosity)
    return left * bed.uptake[:, None] * (bed.fractions(parts) @ bed.loads)
