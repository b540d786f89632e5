"""An invented salon whose truth is known: what ranges and learning are judged by.

True hair, clients whose hair takes more or less, readers with habits, shades stronger or weaker
than their line says, results noted wrongly; and, where wanted, a physics that is not the
engine's own: a surface that reflects before any light enters the fibre, absorption bands
elsewhere, deposit that does not grow in proportion. Everything is taken from the engine's own
chart, shades and uptake, so it follows them when they change.

References
----------
.. [1] Saunderson 1942, J. Opt. Soc. Am. 32:727-736 (reflection at the surface; from memory).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.grid import WAVELENGTHS_NM, Array
from formulas.engine.light.kubelka_munk import to_ks, to_reflectance
from formulas.engine.prediction.numbers import judge_of
from formulas.engine.toner.deposit import Bed, prepare
from formulas.engine.toner.lines import Line
from formulas.engine.toner.shades import Shade, white_hair_ks
from formulas.engine.toner.zone import Zone
from formulas.engine.visits.observing import Observed

# What light that comes from within the fibre meets at its surface (Saunderson's K2; 0.4 is
# commonly taken for n = 1.5; from memory).
WITHIN = 0.4
# How readings scatter before they are rounded to what the scales of the screens hold.
READ_LEVEL, READ_UNDERTONE, READ_POROSITY, READ_WARMTH = 0.2, 0.24, 0.32, 9.0
INSTRUMENT = 0.6  # of L*, a*, b*
SHADES = (
    "7 natural", "7 violet-blue", "8 natural", "8 violet-blue", "8 violet", "9 natural",
    "9 violet-blue", "9 violet", "10 natural", "10 violet", "clear",
)  # fmt: skip


@dataclass(frozen=True)
class Physics:
    """How true hair differs from the engine's model; as it is without arguments.

    Attributes
    ----------
    surface : float
        Share of light reflected before it enters the fibre (Saunderson's K1). [unitless]
    band_shift_nm : float
        How far the tone pigments' bands lie from those of the model. [nm]
    exponent : float
        Deposit grows as concentration to this power; calibrated at the full recipe. [unitless]
    """

    surface: float = 0.0
    band_shift_nm: float = 0.0
    exponent: float = 1.0

    @classmethod
    def drawn(cls, random: np.random.Generator) -> "Physics":
        """Return a mildly different physics."""
        return cls(
            surface=float(random.uniform(0.02, 0.04)),
            band_shift_nm=float(random.choice([-8.0, 8.0])),
            exponent=float(random.uniform(0.9, 1.1)),
        )

    def inside(self, reflectance: Array) -> Array:
        """Return K/S within the fibre from the reflectance that an instrument measures."""
        k1, k2 = self.surface, WITHIN if self.surface else 0.0
        bare = np.maximum(reflectance - k1, 1e-4)
        return to_ks(bare / (1.0 - k1 - k2 * (1.0 - reflectance)))

    def outside(self, ks: Array) -> Array:
        """Return the reflectance that an instrument measures, from K/S within the fibre."""
        k1, k2 = self.surface, WITHIN if self.surface else 0.0
        within = to_reflectance(ks)
        return np.asarray(k1 + (1.0 - k1) * (1.0 - k2) * within / (1.0 - k2 * within))


@dataclass(frozen=True)
class Case:
    """One toning whose truth is known.

    Attributes
    ----------
    read : Zone
        As the stylist read it.
    true : Zone
    parts : mapping of shade name to parts
    lab : (3,) float array
        True result, dry.
    judge : Judge
        Of the true hair.
    """

    read: Zone
    true: Zone
    parts: Mapping[str, float]
    lab: Array
    judge: Judge

    @property
    def level(self) -> float:
        """True level of the result."""
        return float(self.judge.level(self.lab))

    @property
    def warmth(self) -> float:
        """True warmth left. [%]"""
        return float(self.judge.warmth_left_percent(self.lab))


@dataclass(frozen=True, eq=False)
class Salon:
    """An invented salon.

    Attributes
    ----------
    line : Line
    random : numpy Generator
    physics : Physics
    strengths : mapping of shade name to factor
        True ones; 1 where a name is missing.
    readers : mapping of name to (levels lighter, % warmer)
        Habits, of zones and of results alike.
    take_spread : float
        Relative spread of what clients' hair takes. [unitless]
    results_per_client : float
    """

    line: Line
    random: np.random.Generator
    physics: Physics = field(default_factory=Physics)
    strengths: Mapping[str, float] = field(default_factory=dict)
    readers: Mapping[str, tuple[float, float]] = field(
        default_factory=lambda: {"one": (0.0, 0.0), "two": (0.0, 0.0), "three": (0.0, 0.0)}
    )
    take_spread: float = 0.12
    results_per_client: float = 2.5

    @cached_property
    def chart(self) -> Chart:
        """The chart of the engine."""
        return Chart.default()

    @cached_property
    def used(self) -> Line:
        """The line with the shades that this salon uses."""
        names = set(self.line.names)
        return replace(
            self.line, shades=tuple(self.line.shade(n) for n in SHADES if n in names)
        )

    def results(
        self, count: int, *, measured: bool = False, mislabelled: float = 0.0
    ) -> list[Observed]:
        """Return results as they were noted, some of them with another one's bowl."""
        found: list[Observed] = []
        names = sorted(self.readers)
        clients = max(int(count / self.results_per_client), 1)
        takes = np.exp(self.random.normal(0.0, self.take_spread, clients))
        for n in range(count):
            client, reader = n % clients, str(self.random.choice(names))
            level, warmth = self.readers[reader]
            case = self.case(take=float(takes[client]), habit=level)
            seen: dict[str, object] = {
                "level": _half(case.level + level + self.random.normal(0.0, 0.2)),
                "warmth_left_percent": round(
                    case.warmth + warmth + self.random.normal(0.0, READ_WARMTH)
                ),
            }
            if measured:
                seen = {"lab": tuple(case.lab + self.random.normal(0.0, INSTRUMENT, 3))}
            found.append(
                Observed(
                    case.read, case.parts, client=str(client), reader=reader,
                    zone_reader=reader, **seen,  # type: ignore[arg-type]
                )
            )  # fmt: skip
        wrong = np.flatnonzero(self.random.random(count) < mislabelled)
        bowls = [found[n].parts for n in wrong]
        for place, result in enumerate(wrong):
            found[result] = replace(found[result], parts=bowls[(place + 1) % len(bowls)])
        return found

    def case(self, *, take: float | None = None, habit: float = 0.0) -> Case:
        """Return one toning: true hair, how it was read, a mix, and what it truly gave."""
        random = self.random
        if take is None:
            take = float(np.exp(random.normal(0.0, self.take_spread)))
        true = Zone(
            float(random.uniform(7.0, 9.8)),
            float(np.clip(random.normal(0.0, 0.3), -0.9, 0.9)),
            0.0,
            float(np.clip(random.normal(0.2, 0.4), -0.9, 0.9)),
        )
        read = Zone(
            float(
                np.clip(
                    _half(true.lifted_level + habit + random.normal(0.0, READ_LEVEL)), 5, 10
                )
            ),
            float(
                np.clip(_quarter(true.undertone + random.normal(0.0, READ_UNDERTONE)), -1, 1)
            ),
            0.0,
            float(np.clip(_half(true.porosity + random.normal(0.0, READ_POROSITY)), -1, 1)),
        )
        return self.toned(true, read, self._mix(read), take)

    def toned(self, true: Zone, read: Zone, parts: Mapping[str, float], take: float) -> Case:
        """Return what a mix truly gives on a zone."""
        mix = self.line.resolved(parts)
        bed = prepare(
            true,
            replace(self.used, shades=tuple(self.used.shade(name) for name in mix)),
            chart=self.chart,
        )
        strengths = np.array([self.strengths.get(name, 1.0) for name in bed.names])
        return Case(
            read, true, parts,
            self._shown(bed, bed.fractions(mix), take * strengths), judge_of(bed, self.chart),
        )  # fmt: skip

    def _shown(self, bed: Bed, fractions: Array, strengths: Array) -> Array:
        physics = self.physics
        shades = [self.used.shade(name) for name in bed.names]
        shift = physics.band_shift_nm
        loads = bed.neutral_loads + np.array([
            np.interp(WAVELENGTHS_NM - shift, WAVELENGTHS_NM, tone) for tone in bed.tone_loads
        ])  # fmt: skip
        pigment = np.array([not shade.is_clear for shade in shades])
        uptake = float(bed.uptake[0])  # no white fibres here
        scale = uptake * float(np.prod(list(bed.factors.values())))
        scale *= float((fractions * pigment).sum())
        bend = max(scale, 1e-3) ** (physics.exponent - 1.0)
        surface = np.array([self.surface_factor(shade) for shade in shades])
        deposit = bend * uptake * ((fractions * strengths) @ (loads * surface))
        hair = physics.inside(bed.reflectance())
        return np.asarray(reflectance_to_lab(physics.outside(hair + deposit)))

    def surface_factor(self, shade: Shade) -> Array:
        """Return the factor on a load that keeps the shade's colour on white hair."""
        load = shade.load(self.chart)
        if not self.physics.surface or not load.any():
            return np.ones_like(load)
        white, toned = to_reflectance(white_hair_ks()), to_reflectance(white_hair_ks() + load)
        inside = self.physics.inside(toned) - self.physics.inside(white)
        return np.asarray(np.divide(inside, load, out=np.ones_like(load), where=load > 1e-9))

    def _mix(self, read: Zone) -> dict[str, float]:
        """Return a mix within practice: two levels below to one above, some clear."""
        near = [
            shade.name
            for shade in self.used.shades
            if shade.level is not None and -2.0 <= shade.level - read.lifted_level <= 1.0
        ] or [shade.name for shade in self.used.shades if not shade.is_clear]
        count = min(int(self.random.integers(1, 3)), len(near))
        chosen = self.random.choice(near, count, replace=False)
        parts = {str(name): float(self.random.integers(1, 4)) for name in chosen}
        if self.random.random() < 0.3 and "clear" in self.used.names:
            parts["clear"] = min(float(self.random.integers(1, 3)), sum(parts.values()))
        return parts


def drawn_strengths(
    names: Sequence[str], random: np.random.Generator, *, low: float = 0.15, high: float = 0.25
) -> dict[str, float]:
    """Return true strengths that are off by 15 to 25 % either way; clear is clear."""
    size = random.uniform(low, high, len(names))
    sign = random.choice([-1.0, 1.0], len(names))
    return {
        name: float(1.0 + s * d)
        for name, s, d in zip(names, sign, size, strict=True)
        if name != "clear"
    }


def _half(value: float) -> float:
    return round(2.0 * value) / 2.0


def _quarter(value: float) -> float:
    return round(4.0 * value) / 4.0
