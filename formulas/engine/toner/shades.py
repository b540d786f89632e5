"""Shades: a neutral load and a tone load, or a measured swatch, as K/S on the grid.

A shade's level is what the whole shade gives on white hair by its line's own recipe and time:
neutral and tone together read the natural lightness of that level. Tone adds the absorption
bands of pigment families; its strength moves the share of tone within that depth, and the
neutral background makes up the rest. The free numbers are in `calibration`.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import Any

import numpy as np

from formulas.engine import checks
from formulas.engine.checks import EngineRefusal
from formulas.engine.hair.chart import WHITE_HAIR_LAB, Chart
from formulas.engine.light.colorimetry import lab_to_xyz
from formulas.engine.light.grid import WAVELENGTHS_NM, Array, checked_reflectance, weights
from formulas.engine.light.kubelka_munk import to_ks
from formulas.engine.light.recovery import recover_reflectance
from formulas.engine.toner import calibration, pigments
from formulas.engine.toner.pigments import FAMILIES, STRENGTHS, TONES

_MOST_STEPS = 60
_CLOSE = 1e-10


@dataclass(frozen=True)
class Shade:
    """One shade of a line.

    Attributes
    ----------
    name : str
        In plain words: "8 violet-blue".
    level : float or None
        1 to 10; None for clear.
    tones : mapping of family to amount
        Amount 1 in all is a plain full-bodied tone, 0 to 5. [unitless]
    neutral : float
        Of the neutral background that a shade of this tone has, 0 to 1.5; 0 is all tone, and
        the depth stays that of the level. Without a tone, of the whole load up to 1. [unitless]
    strength : float
        Factor on the whole load, 0.05 to 20. [unitless]
    reflectance : (31,) array or None
        Measured swatch on white hair, 400 to 700 nm; it replaces level, tones and neutral in
        the load. See `grid.resample` for spectra on other wavelengths.

    Raises
    ------
    ValueError
        If the name is empty, a family unknown, or a number out of range.
    """

    name: str
    level: float | None
    tones: Mapping[str, float] = field(default_factory=dict)
    neutral: float = 1.0
    strength: float = 1.0
    reflectance: Any = None

    def __post_init__(self) -> None:
        if not isinstance(self.name, str) or not self.name.strip():
            text = f"name of a shade must not be empty, given {self.name!r}"
            raise EngineRefusal("no_name", text)
        if self.level is not None:
            checks.number(
                self.level, name=f"level of {self.name}", unit="level", low=1, high=10
            )
        for family, amount in self.tones.items():
            checks.one_of(family, FAMILIES, name=f"tones of {self.name}")
            checks.number(amount, name=f"{family} of {self.name}", unit="amount", low=0, high=5)
        if self.level is None and any(self.tones.values()) and self.reflectance is None:
            raise EngineRefusal(
                "needs_level",
                f"level of {self.name} [level]: a shade with tone pigments needs one, 1..10 "
                "(neutral 0 if it is all tone); given None, which is clear",
                name=self.name,
            )
        checks.number(
            self.neutral, name=f"neutral of {self.name}", unit="share", low=0, high=1.5
        )
        checks.number(
            self.strength, name=f"strength of {self.name}", unit="factor", low=0.05, high=20
        )
        if self.reflectance is not None:
            self._swatch()

    @classmethod
    def from_words(cls, name: str) -> "Shade":
        """Return a shade read from plain words: "8 strong violet-blue", "10 natural", "clear".

        Parameters
        ----------
        name : str
            A level, a tone, and if wanted slight, soft or strong; "natural" may stand
            beside a tone.

        Raises
        ------
        ValueError
            If a word is not known; the message lists the words that are.
        """
        words = re.sub(r"\s+", " ", str(name).strip().lower())
        if words == "clear":
            return cls("clear", None)
        match = re.fullmatch(r"(\d+(?:\.\d+)?) (.+)", words)
        if not match:
            raise ValueError(_unknown(name))
        try:
            tones = pigments.tone_amounts(match[2])
        except ValueError:
            raise ValueError(_unknown(name)) from None
        return cls(words, float(match[1]), tones)

    @property
    def is_clear(self) -> bool:
        """Whether it carries no pigment at all."""
        return self.level is None and self.reflectance is None

    def loads(self, chart: Chart) -> dict[str, Array]:
        """Return K/S of its parts by name, each (31,): "neutral", then its families.

        A measured swatch cannot be told apart and is all "swatch".
        """
        if self.reflectance is not None:
            deposit = np.maximum(to_ks(self._swatch()) - white_hair_ks(), 0.0)
            return {"swatch": self.strength * deposit}
        if self.level is None:
            return {}
        tones = tuple(sorted((name, a) for name, a in self.tones.items() if a))
        return {
            part: self.strength * load
            for part, load in _on_level(chart, float(self.level), tones, self.neutral).items()
        }

    def neutral_load(self, chart: Chart) -> Array:
        """Return K/S of its neutral background (or of its measured swatch), (31,)."""
        loads = self.loads(chart)
        return loads.get("swatch", loads.get("neutral", np.zeros(len(WAVELENGTHS_NM))))

    def tone_load(self, chart: Chart) -> Array:
        """Return K/S of its tone pigments, (31,)."""
        tones = [load for part, load in self.loads(chart).items() if part in FAMILIES]
        return np.sum(tones, axis=0) if tones else np.zeros(len(WAVELENGTHS_NM))

    def load(self, chart: Chart) -> Array:
        """Return K/S of the shade, (31,): neutral and tone together."""
        return self.neutral_load(chart) + self.tone_load(chart)

    def _swatch(self) -> Array:
        swatch = checked_reflectance(self.reflectance, name=f"reflectance of {self.name}")
        if swatch.shape != WAVELENGTHS_NM.shape:
            raise EngineRefusal(
                "no_reflectance",
                f"reflectance of {self.name} [unitless] needs {len(WAVELENGTHS_NM)} values "
                f"(400 to 700 nm), given shape {swatch.shape}; see grid.resample",
            )
        return swatch


def _unknown(name: str) -> str:
    strengths = ", ".join(word for word in STRENGTHS if word != "plain")
    return (
        f"shade {name!r}: write a level 1..10, if wanted one of {strengths}, "
        f"and one of {', '.join(TONES)}; or clear"
    )


@cache
def white_hair_ks() -> Array:
    """Return K/S of white hair, (31,)."""
    ks = to_ks(recover_reflectance(WHITE_HAIR_LAB))
    ks.flags.writeable = False
    return ks


@lru_cache(maxsize=4096)
def _on_level(
    chart: Chart, level: float, tones: tuple[tuple[str, float], ...], neutral: float
) -> dict[str, Array]:
    """Return K/S of a shade's parts, which together bring white hair to its level's L*."""
    grey = np.maximum(chart.natural_ks(level) - white_hair_ks(), 0.0)
    aim = float(lab_to_xyz(chart.natural_lab_at(level))[1]) / 100.0
    pure = {name: FAMILIES[name].power * a * pigments.band(name) for name, a in tones}
    amount = sum(a for _, a in tones)
    tone: Array = sum(pure.values(), start=np.zeros_like(grey))
    laid = 0.0
    if amount:
        whole = min(_needed(tone, np.zeros_like(grey), aim), _most(grey, tone))
        laid = min(calibration.TONE_SHARE * amount, 1.0) * whole
    rest = _needed(grey, laid * tone, aim) * (neutral if amount else min(neutral, 1.0))
    # A background other than the usual: the whole is brought back to the level, as far as
    # a warm tone alone can reach it.
    if neutral != 1.0 and amount:
        all_of_it = _needed(laid * tone + rest * grey, np.zeros_like(grey), aim)
        back = min(all_of_it, _most(grey, laid * tone))
        laid, rest = laid * back, rest * back
    return {"neutral": rest * grey, **{name: laid * load for name, load in pure.items()}}


def forget() -> None:
    """Drop what was worked out for shades, after a number of the model has changed."""
    _on_level.cache_clear()


def _most(grey: Array, tone: Array) -> float:
    """Return how much of a tone there may be beside the whole neutral of its level."""
    return calibration.MOST_TONE * float(grey.mean()) / float(tone.mean())


def _needed(load: Array, beside: Array, aim: float) -> float:
    """Return how much of a load, beside another, brings white hair to a luminance `aim`.

    0 where it is as dark already; Newton's method, which comes from the light side and never
    oversteps, since luminance falls ever more slowly with the load.
    """
    seen = weights()[:, 1] / 100.0
    base, amount = white_hair_ks() + beside, 0.0
    if not load.any():
        return 0.0
    for _ in range(_MOST_STEPS):  # pragma: no branch - it settles long before
        ks = base + amount * load
        root = np.sqrt(ks * (ks + 2.0))
        reflectance = 1.0 / (1.0 + ks + root)
        slope = -(reflectance * load / root) @ seen
        step = float((aim - reflectance @ seen) / slope)
        if step <= _CLOSE * max(amount, 1e-3):
            break
        amount += step
    return float(amount)
