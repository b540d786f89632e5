"""Screen colours of shades and of the level chart, kept while nothing changes."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

import numpy as np

from formulas import engine, engine_inputs, selectors
from formulas.engine import Chart
from formulas.engine.hair.chart import LEVELS
from formulas.engine.light.colorimetry import lab_to_hex, reflectance_to_lab
from formulas.engine.light.kubelka_munk import to_reflectance
from formulas.engine.toner.shades import white_hair_ks
from formulas.models import ChartEntry, EntryKind, Shade, Standing
from salon.models import Salon


@dataclass(frozen=True)
class ChartCell:
    """One colour of the chart: where it comes from, and how it looks."""

    level: Decimal
    kind: str
    hex: str
    lab: tuple[float, float, float]
    standing: str
    entry: ChartEntry | None

    @property
    def is_own(self) -> bool:
        """Whether the salon put another colour here than the model's."""
        return self.standing != Standing.ASSUMED

    @property
    def kind_label(self) -> str:
        """Natural hair or exposed warmth, in words."""
        return str(EntryKind(self.kind).label)

    @property
    def standing_label(self) -> str:
        """Where the colour comes from, in words."""
        return str(Standing(self.standing).label)


def shade_colours(shades: Iterable[Shade], *, salon: Salon) -> dict[int, str]:
    """Return what each shade gives on white hair at its line's own recipe, by id: one query."""
    every = list(shades)
    return dict(
        zip((shade.pk for shade in every), colours_in_order(every, salon=salon), strict=True)
    )


def colours_in_order(shades: Iterable[Shade], *, salon: Salon) -> list[str]:
    """Return the same in the order given, also of shades that are not saved: one query."""
    chart = engine_inputs.chart_from(selectors.chart_entries(salon_id=salon.pk))
    return [
        _on_white(
            chart,
            None if shade.level is None else float(shade.level),
            tuple(sorted(shade.tones.items())),
            (float(shade.neutral), float(shade.strength)),
            None if shade.reflectance is None else tuple(shade.reflectance),
        )
        for shade in shades
    ]


@lru_cache(maxsize=1024)
def _on_white(
    chart: Chart,
    level: float | None,
    tones: tuple[tuple[str, float], ...],
    scale: tuple[float, float],
    reflectance: tuple[float, ...] | None,
) -> str:
    neutral, strength = scale
    shade = engine.Shade("swatch", level, dict(tones), neutral, strength, reflectance)
    return _hex(white_hair_ks() + shade.load(chart))


def _hex(ks: np.ndarray) -> str:
    return lab_to_hex(reflectance_to_lab(to_reflectance(ks)))


def chart_cells(*, salon: Salon) -> list[tuple[ChartCell, ChartCell]]:
    """Return (natural hair, exposed warmth) for each level, darkest first: one query."""
    entries = selectors.chart_entries(salon_id=salon.pk)
    chart = engine_inputs.chart_from(entries)
    own_entries = {(entry.level, entry.kind): entry for entry in entries}
    tables = {EntryKind.NATURAL: chart.natural_lab, EntryKind.WARMTH: chart.warmth_lab}

    def cell(at: int, kind: EntryKind) -> ChartCell:
        level = Decimal(str(LEVELS[at]))
        entry = own_entries.get((level, kind))
        lab = tables[kind][at]
        return ChartCell(
            level=level,
            kind=kind,
            hex=lab_to_hex(lab),
            lab=(float(lab[0]), float(lab[1]), float(lab[2])),
            standing=entry.standing if entry else Standing.ASSUMED,
            entry=entry,
        )

    return [
        (cell(at, EntryKind.NATURAL), cell(at, EntryKind.WARMTH)) for at in range(len(LEVELS))
    ]
