"""Results as they were seen: a measured swatch, or a level and a warmth by eye."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from formulas.engine import checks
from formulas.engine.hair.appearance import Judge, read_each
from formulas.engine.hair.chart import Chart
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.engine.light.grid import Array
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.prediction.numbers import judge_of
from formulas.engine.toner.deposit import Bed, prepare
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone

# Standard doubts of a result by itself (model assumptions): an eye that reads half levels, and
# warmth to about a tenth of what there was; an instrument on hair (about 0.6 in L*).
EYE_LEVELS, EYE_WARMTH = 0.25, 10.0
MEASURED_LEVELS, MEASURED_WARMTH = 0.1, 3.0


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
    client, reader, zone_reader : str
        Whose hair it is, who read the result by eye, who read the zone before; any keys. Empty
        where it is not known: then a client of its own, and nobody's habit.
    """

    zone: Zone
    parts: Mapping[str, float]
    minutes: float | None = None
    developer_ratio: float | None = None
    lab: Any = None
    level: float | None = None
    warmth_left_percent: float | None = None
    client: str = ""
    reader: str = ""
    zone_reader: str = ""

    def __post_init__(self) -> None:
        if self.lab is None and self.level is None and self.warmth_left_percent is None:
            raise ValueError(
                "observed: give lab [L*a*b*], level [level] or warmth_left_percent [%]; "
                "given none of them"
            )
        if self.lab is not None:
            values = np.asarray(self.lab, dtype=float)
            if values.shape != (3,) or not np.all(np.isfinite(values)):
                text = f"lab [L*a*b*] needs 3 finite values, given {self.lab!r}"
                raise checks.EngineRefusal("no_colour", text)
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
class Batch:
    """Mixes on zones, to be predicted together again and again.

    Attributes
    ----------
    shares, uptake : (n, k) float arrays
        Of each kind of fibre; a kind that is not there has no share.
    base_ks : (n, k, 31) float array
    loads : (n, m, 31) float array
        What each shade of each mix adds to fibres of uptake 1.
    judges : tuple of n Judge
    """

    shares: Array
    uptake: Array
    base_ks: Array
    loads: Array
    judges: tuple[Judge, ...]

    def lab(self, scales: Array) -> Array:
        """Return L*a*b* (n, k, 3) with factors (n, k, m) on the shades' deposits."""
        deposit = np.matmul(np.asarray(scales, dtype=float), self.loads)
        seen = np.zeros_like(deposit)
        for kind in range(self.shares.shape[1]):
            laid = self.uptake[:, kind, None, None] * deposit
            own = to_reflectance(self.base_ks[:, kind, None] + laid)
            seen += self.shares[:, kind, None, None] * own
        return reflectance_to_lab(seen)

    def predicted(self, scales: Array) -> Array:
        """Return level, warmth left (%) and cast (n, k, 3); see `lab`."""
        return read_each(self.judges, self.lab(scales))


class Beds:
    """Prepares zones for mixes of one line; those that were read alike only once.

    Parameters
    ----------
    line : Line
        Only the shades that are named: less to compute, same result.
    chart : Chart
    """

    def __init__(self, line: Line, chart: Chart) -> None:
        self.line, self.chart = line, chart
        self._kept: dict[Any, tuple[Bed, Judge]] = {}

    def batch(self, results: Sequence[Observed], zones: Sequence[Zone] | None = None) -> Batch:
        """Return the mixes of results on their zones, or on others in their place."""
        known = zones or [result.zone for result in results]
        beds = [self._prepared(*pair) for pair in zip(known, results, strict=True)]
        fractions = np.stack([
            bed.fractions(self.line.resolved(result.parts))
            for (bed, _judge), result in zip(beds, results, strict=True)
        ])  # fmt: skip
        most = max((len(bed.shares) for bed, _judge in beds), default=1)
        return Batch(
            np.stack([_filled(bed.shares, most) for bed, _judge in beds]),
            np.stack([_filled(bed.uptake, most) for bed, _judge in beds]),
            np.stack([_filled(bed.base_ks, most) for bed, _judge in beds]),
            fractions[:, :, None] * np.stack([bed.loads for bed, _judge in beds]),
            tuple(judge for _bed, judge in beds),
        )

    def _prepared(self, zone: Zone, seen: Observed) -> tuple[Bed, Judge]:
        # A residual holds mappings and cannot be hashed; such zones are rarely alike.
        plain = tuple(value for name, value in vars(zone).items() if name != "residual")
        key = (plain, id(zone.residual), seen.minutes, seen.developer_ratio)
        if key not in self._kept:
            bed = prepare(
                zone, self.line, minutes=seen.minutes, chart=self.chart,
                developer_ratio=seen.developer_ratio,
            )  # fmt: skip
            self._kept[key] = bed, judge_of(bed, self.chart)
        return self._kept[key]


def _filled(of_fibres: Array, most: int) -> Array:
    """Return what holds for each kind of fibre, with nothing for a kind that is not there."""
    missing = most - len(of_fibres)
    return np.pad(of_fibres, [(0, missing), *[(0, 0)] * (of_fibres.ndim - 1)])


def noted(batch: Batch, results: Sequence[Observed]) -> Array:
    """Return level, warmth left (%) and cast as they were seen, (n, 3); NaN if not noted."""
    found = np.full((len(results), 3), np.nan)
    for n, result in enumerate(results):
        if result.level is not None:
            found[n, 0] = result.level
        if result.warmth_left_percent is not None:
            found[n, 1] = result.warmth_left_percent
    measured = np.array([result.lab is not None for result in results], dtype=bool)
    if measured.any():
        lab = np.array(
            [result.lab for result in results if result.lab is not None], dtype=float
        )
        judges = [judge for judge, is_ in zip(batch.judges, measured, strict=True) if is_]
        found[measured] = read_each(judges, lab)
    return found
