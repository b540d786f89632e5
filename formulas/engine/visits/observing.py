"""Results as they were seen: a measured swatch, or a level and a warmth by eye."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from formulas.engine import checks
from formulas.engine.hair.appearance import Judge
from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.prediction.prediction import judge_of
from formulas.engine.toner.deposit import prepare
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone

# Standard doubts of a result (model assumptions): an instrument on hair, in L*, a*, b*; an eye
# that reads half levels, and warmth to about a tenth of what there was.
MEASURED_DOUBT = 1.5
LEVEL_DOUBT = 0.25
WARMTH_DOUBT = 10.0


@dataclass(frozen=True)
class Observed:
    """What a mix gave on a zone.

    Attributes
    ----------
    zone : Zone
        As it was read before.
    parts : mapping of shade name to parts
    minutes : float or None
        Processing time; None for the line's own. [min]
    developer_ratio : float or None
        Where it differed from the line's. [parts]
    lab : (3,) or None
        Measured L*a*b* (D65, 10 degrees) of the dry result.
    level, warmth_left_percent : float or None
        Read by eye, where nothing was measured.
    """

    zone: Zone
    parts: Mapping[str, float]
    minutes: float | None = None
    developer_ratio: float | None = None
    lab: Any = None
    level: float | None = None
    warmth_left_percent: float | None = None

    def __post_init__(self) -> None:
        if self.lab is None and self.level is None and self.warmth_left_percent is None:
            raise ValueError(
                "observed: give lab [L*a*b*], level [level] or warmth_left_percent [%]; "
                "given none of them"
            )
        if self.lab is not None:
            values = np.asarray(self.lab, dtype=float)
            if values.shape != (3,) or not np.all(np.isfinite(values)):
                raise ValueError(f"lab [L*a*b*] needs 3 finite values, given {self.lab!r}")
            checks.number(values[0], name="lab[0]", unit="L*", low=1, high=100)
        if self.level is not None:
            checks.number(self.level, name="level", unit="level", low=0, high=11)
        if self.warmth_left_percent is not None:
            checks.number(
                self.warmth_left_percent,
                name="warmth_left_percent",
                unit="%",
                low=-400,
                high=400,
            )


@dataclass(frozen=True, eq=False)
class Observation:
    """A result beside all that is needed to predict it anew, in plain arrays.

    Attributes
    ----------
    base_ks : (31,) float array
    loads : (m, 31) float array
        K/S that each shade's share of this mix adds at strength 1.
    """

    base_ks: Array
    loads: Array
    judge: Judge
    seen: Observed

    def only(self, columns: Sequence[int]) -> "Observation":
        """Return it with some shades' loads only."""
        return replace(self, loads=self.loads[list(columns)])

    def lab(self, strengths: Array) -> Array:
        """Return predicted L*a*b* (..., 3) at strengths (..., m)."""
        return reflectance_to_lab(to_reflectance(self.base_ks + strengths @ self.loads))

    def missed(self, strengths: Array) -> Array:
        """Return prediction less result, in standard doubts, (..., k) at strengths (..., m)."""
        lab = self.lab(strengths)
        if self.seen.lab is not None:
            return np.asarray((lab - np.asarray(self.seen.lab, float)) / MEASURED_DOUBT)
        found = []
        if self.seen.level is not None:
            found.append((self.judge.level(lab) - self.seen.level) / LEVEL_DOUBT)
        if self.seen.warmth_left_percent is not None:
            left = self.judge.warmth_left_percent(lab) - self.seen.warmth_left_percent
            found.append(left / WARMTH_DOUBT)
        return np.stack(found, axis=-1)

    def levels_and_warmth(self, strengths: Array) -> Array:
        """Return prediction less result in levels (by L*) and % warmth, (2,); NaN if unseen."""
        lab = self.lab(strengths)
        level, warmth = self.seen.level, self.seen.warmth_left_percent
        if self.seen.lab is not None:
            measured = np.asarray(self.seen.lab, float)
            level = float(self.judge.level(measured))
            warmth = float(self.judge.warmth_left_percent(measured))
        return np.array(
            [
                np.nan if level is None else float(self.judge.level(lab)) - level,
                np.nan
                if warmth is None
                else float(self.judge.warmth_left_percent(lab)) - warmth,
            ]
        )


def observation(line: Line, seen: Observed, chart: Chart) -> Observation:
    """Return a result with its arrays; the loads run over all shades of the line."""
    bed = prepare(
        seen.zone, line, minutes=seen.minutes, chart=chart, developer_ratio=seen.developer_ratio
    )
    shares = bed.fractions(line.resolved(seen.parts))
    return Observation(bed.base_ks, shares[:, None] * bed.loads, judge_of(bed, chart), seen)
