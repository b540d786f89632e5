"""Shades: a neutral load and a tone load, or a measured swatch, as K/S on the grid.

A neutral load would give white hair the natural colour of its level. A tone load adds
absorption bands of pigment families. Both are K/S of the undiluted recipe of the line
(developer at its own ratio, its own time) on hair of normal porosity.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np

from formulas.engine import checks
from formulas.engine.hair.chart import Chart
from formulas.engine.light.grid import WAVELENGTHS_NM, Array, checked_reflectance, weights
from formulas.engine.light.kubelka_munk import to_ks
from formulas.engine.light.recovery import recover_reflectance
from formulas.engine.toner import pigments
from formulas.engine.toner.pigments import FAMILIES, SAME_TONE, STRENGTHS, TONES

# White (unpigmented) hair, slightly yellow: model assumption.
WHITE_HAIR_LAB = (82.0, -0.3, 9.0)


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
        Amount 1 is a plain full-bodied tone, 0 to 5. [unitless]
    neutral : float
        Share of the neutral load, 0 to 1.5. [unitless]
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
            raise ValueError(f"name of a shade must not be empty, given {self.name!r}")
        if self.level is not None:
            checks.number(
                self.level, name=f"level of {self.name}", unit="level", low=1, high=10
            )
        for family, amount in self.tones.items():
            checks.one_of(family, FAMILIES, name=f"tones of {self.name}")
            checks.number(amount, name=f"{family} of {self.name}", unit="amount", low=0, high=5)
        if self.level is None and any(self.tones.values()) and self.reflectance is None:
            raise ValueError(
                f"level of {self.name} [level]: a shade with tone pigments needs one, 1..10 "
                "(neutral 0 if it is all tone); given None, which is clear"
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
        strength, tone = _strength_and_tone(match[2].split(" "), name)
        tones = {family: strength * share for family, share in TONES[tone].items()}
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
        natural = _natural_load(chart, self.level)
        seen = float(natural @ weights()[:, 1]) / 100.0  # as the eye weighs the bands
        scale = self.strength * pigments.TONE_STRENGTH * seen
        return {
            "neutral": self.strength * self.neutral * natural,
            **{
                family: scale * amount * FAMILIES[family].power * pigments.band(family)
                for family, amount in self.tones.items()
                if amount
            },
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
            raise ValueError(
                f"reflectance of {self.name} [unitless] needs {len(WAVELENGTHS_NM)} values "
                f"(400 to 700 nm), given shape {swatch.shape}; see grid.resample"
            )
        return swatch


def _strength_and_tone(words: list[str], name: str) -> tuple[float, str]:
    """Return how strong a tone and which; words may stand in any order."""
    said = [word for word in words if word != "plain"]
    strengths = [word for word in said if word in STRENGTHS]
    rest = [word for word in said if word not in STRENGTHS]
    if "natural" in rest or "neutral" in rest:
        # "10 soft violet-blue natural": every shade has a neutral background already.
        rest = [word for word in rest if word not in {"natural", "neutral"}] or ["natural"]
    tone = "-".join(rest)
    tone = SAME_TONE.get(tone, tone)
    if tone not in TONES or len(strengths) > 1:
        raise ValueError(_unknown(name))
    return STRENGTHS[strengths[0] if strengths else "plain"], tone


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


def _natural_load(chart: Chart, level: float) -> Array:
    return np.maximum(chart.natural_ks(level) - white_hair_ks(), 0.0)
