"""What a mix lays onto hair: K/S of the base plus the deposit.

K/S = K/S_hair + K/S_residual + sum(fraction_i * load_i * uptake * dilution)

Additive K/S of dyes on fibre: Allen 1980, eq. 20; Safi & Amirshahi 2023 (Sci. Rep.) find
Kubelka-Munk the more reliable model for dyed textile.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from formulas.engine import checks
from formulas.engine.chart import Chart
from formulas.engine.grid import Array
from formulas.engine.hair import Residual, Zone
from formulas.engine.lines import Line

# The uptake curve's bend: early uptake runs as the square root of time (Tate et al. 1993,
# J. Soc. Cosmet. Chem. 44:347-371), late it levels off (form and number: model assumption).
SATURATION = 2.0
# Porous hair takes dye faster (Tate et al. 1993: diffusion about 12 times faster in bleached
# hair, with a large spread; among lightened hair the model takes twice as fast per unit).
PACE_PER_POROSITY = 2.0
# ... and ends a little deeper, since porous ends grab (common practice, no source; size is a
# model assumption). It may hold less acid dye: see HALF_LIFE_WASHES.
HOLD_PER_POROSITY = 0.12
# Washes after which half of a demi-permanent toner is gone: 10 to 12 washes and more for it
# to fade out (trade and textbook texts) make about 5 for half (model assumption). Bleached
# hair fades faster (Cheng et al. 2009): porosity shortens it.
HALF_LIFE_WASHES = {"alkaline": 6.0, "acidic": 5.0}
FADE_PER_POROSITY = 1.3


@dataclass(frozen=True, eq=False)
class Bed:
    """A zone ready to be toned with one line: plain arrays for prediction and search.

    Attributes
    ----------
    hair_ks : (31,) float array
        K/S of the hair alone, white fibres among it.
    warm_ks : (31,) float array
        K/S of its pigmented fibres.
    residual_ks : (31,) float array
        K/S of toner still present.
    neutral_loads, tone_loads : (n, 31) float arrays
        K/S that each shade adds per unit weight fraction, with dilution and uptake.
    names : tuple of n str
    """

    hair_ks: Array
    warm_ks: Array
    residual_ks: Array
    neutral_loads: Array
    tone_loads: Array
    names: tuple[str, ...]

    @property
    def base_ks(self) -> Array:
        """K/S before this toning, (31,)."""
        return self.hair_ks + self.residual_ks

    @property
    def loads(self) -> Array:
        """K/S per unit weight fraction, (n, 31)."""
        return self.neutral_loads + self.tone_loads

    def fractions(self, parts: Mapping[str, float]) -> Array:
        """Return weight fractions (n,) of parts by shade name; they sum to one.

        Raises
        ------
        ValueError
            If a name is not in the line, a part is not positive, or there are none.
        """
        if not parts:
            raise ValueError("parts must name at least one shade")
        values = np.zeros(len(self.names))
        for name, part in parts.items():
            if name not in self.names:
                raise ValueError(
                    f"parts: no shade {name!r} in this line; it has {', '.join(self.names)}"
                )
            values[self.names.index(name)] = checks.number(
                part, name=f"parts of {name}", unit="parts", low=1e-6, high=1e6
            )
        return values / values.sum()

    def mixture_ks(self, fractions: Array) -> Array:
        """Return K/S (..., 31) after toning with weight fractions (..., n)."""
        return self.base_ks + np.asarray(fractions) @ self.loads


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
        Learned strengths; 1 where a name is missing. [unitless]
    developer_ratio : float, optional
        Parts of developer to one of colour, where it differs from the line's.

    Raises
    ------
    ValueError
        If a number is out of range.
    """
    chart = chart or Chart.default()
    factor = uptake(minutes, line=line, porosity=zone.porosity) * dilution(
        line, developer_ratio
    )
    learned = np.array([(strengths or {}).get(name, 1.0) for name in line.names])[:, None]
    return Bed(
        hair_ks=zone.hair_ks(chart),
        warm_ks=chart.warmth_ks(zone.lifted_level, zone.undertone),
        residual_ks=residual_ks(zone.residual, porosity=zone.porosity, chart=chart),
        neutral_loads=factor * learned * np.stack([s.neutral_load(chart) for s in line.shades]),
        tone_loads=factor * learned * np.stack([s.tone_load(chart) for s in line.shades]),
        names=line.names,
    )


def uptake(minutes: float | None, *, line: Line, porosity: float = 0.0) -> float:
    """Return how much of the line's nominal deposit the hair takes; 1 at its own time.

    u(t) = sqrt((1 - exp(-k p t/T)) / (1 - exp(-k))) (1 + h * porosity), k = SATURATION,
    p = PACE_PER_POROSITY ** porosity: early as sqrt(t), late level. [unitless]
    """
    t = line.processing_minutes if minutes is None else minutes
    t = checks.number(t, name="minutes", unit="min", low=0, high=180)
    pace = PACE_PER_POROSITY**porosity * t / line.processing_minutes
    share = np.expm1(-SATURATION * pace) / np.expm1(-SATURATION)
    return float(np.sqrt(share) * (1.0 + HOLD_PER_POROSITY * porosity))


def dilution(line: Line, developer_ratio: float | None) -> float:
    """Return the concentration of pigment against the line's own recipe. [unitless]"""
    if developer_ratio is None:
        return 1.0
    ratio = checks.number(
        developer_ratio, name="developer_ratio", unit="parts", low=0.1, high=10
    )
    return (1.0 + line.developer_ratio) / (1.0 + ratio)


def kept(washes: float, *, kind: str, porosity: float = 0.0) -> float:
    """Return the share of a toner that is left after a number of washes. [unitless]"""
    count = checks.number(washes, name="washes", unit="count", low=0, high=1000)
    half = HALF_LIFE_WASHES[kind] / FADE_PER_POROSITY**porosity
    return float(0.5 ** (count / half))


def residual_ks(residual: Residual | None, *, porosity: float, chart: Chart) -> Array:
    """Return K/S of toner still present, (31,)."""
    if residual is None:
        return np.zeros_like(chart.natural_ks(5.0))
    line = residual.line
    bed = prepare(
        Zone(lifted_level=10.0, porosity=porosity), line, minutes=residual.minutes, chart=chart
    )
    left = kept(residual.washes, kind=line.kind, porosity=porosity)
    return left * (bed.fractions(residual.parts) @ bed.loads)
