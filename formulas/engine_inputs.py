"""Rows of the formulary as the engine's own objects, read once per request.

What is costly is kept per process under a key made of everything it depends on: the engine's
version, every number of the line and its shades, the chart, the zone. A changed row makes a
new key; nothing has to be thrown away by hand.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import lru_cache
from typing import TypedDict

from formulas import engine, selectors
from formulas.engine.hair.chart import ASSUMED, MEASURED
from formulas.models import ChartEntry, EntryKind, ProductLine, Shade, Standing
from formulas.snapshots import StoredDoubts
from salon.reading_once import read_once

_MOST_BOWLS = 10


class Recipe(TypedDict):
    """What the engine takes of a line beside its shades."""

    kind: str
    developer_ratio: float
    processing_minutes: float
    developer_percent: float


class ShadeNumbers(TypedDict):
    """What the engine takes of a shade."""

    name: str
    level: float | None
    tones: dict[str, float]
    neutral: float
    strength: float
    reflectance: Sequence[float] | None


@dataclass(frozen=True)
class LastToner:
    """What the last visit laid on this zone and how long ago, in washes.

    `earlier` holds what visits before it laid on, the oldest first, each with the washes since.
    """

    parts: tuple[tuple[str, float], ...]
    minutes: float
    washes: float
    earlier: tuple["LastToner", ...] = ()


@dataclass(frozen=True)
class ZoneInput:
    """A zone as read; plain numbers, see `engine.Zone`.

    `take_doubt` is how little is known of its take, where earlier visits say something of it.
    """

    lifted_level: float
    undertone: float = 0.0
    white_percent: float = 0.0
    porosity: float = 0.0
    residual: LastToner | None = None
    take: float = 1.0
    take_doubt: float | None = None
    natural_level: float | None = None


@dataclass(frozen=True)
class Ground:
    """The inputs of a line's suggestions; equal where `key` is equal.

    `whole` also holds the shades no longer in use: a past visit may have laid them on.
    """

    key: str
    line: engine.Line | None = field(compare=False)
    whole: engine.Line | None = field(compare=False)
    chart: engine.Chart = field(compare=False)
    stock: Mapping[str, float] = field(compare=False)
    prices: Mapping[str, float] = field(compare=False)
    versions: Mapping[str, str] = field(compare=False)
    doubts: engine.Doubts = field(compare=False, default_factory=engine.Doubts)

    def doubts_of(self, read: ZoneInput) -> engine.Doubts:
        """Return what is not known of a prediction here, with what is known of this hair."""
        if read.take_doubt is None:
            return self.doubts
        return replace(self.doubts, take=read.take_doubt)

    def in_use(self) -> engine.Line:
        """Return the line of the shades in use, or refuse in words where there are none."""
        if self.line is None:
            raise engine.EngineRefusal(
                "no_shade_in_use", "shades: this line has no shade in use"
            )
        return self.line

    def zone(self, read: ZoneInput) -> engine.Zone:
        """Return the engine's zone, with what is left of the last toner."""
        left = self._left(read) if read.residual else None
        plain = {k: v for k, v in vars(read).items() if k not in ("residual", "take_doubt")}
        return engine.Zone(**plain, residual=left)

    def _left(self, read: ZoneInput) -> engine.Residual | None:
        """Return the toner of all earlier visits as one residual, of shades still known."""
        if self.whole is None or read.residual is None:
            return None
        visits, since = [], 0.0
        for layer in (read.residual, *reversed(read.residual.earlier)):
            known = {n: p for n, p in layer.parts if n in self.whole.names}
            if known:
                visits.append(
                    engine.Visit(
                        _hair(read),
                        known,
                        layer.minutes,
                        washes_since=max(layer.washes - since, 0.0),
                    )
                )
                since = max(layer.washes, since)
        return engine.left_over(
            visits[::-1],
            self.whole,
            _hair(read),
            strengths=dict.fromkeys(self.whole.names, read.take),
            chart=self.chart,
        )


def _hair(read: ZoneInput) -> engine.Zone:
    """Return what sets how toner holds and fades on a zone."""
    return engine.Zone(
        read.lifted_level, porosity=read.porosity, natural_level=read.natural_level
    )


@read_once
def ground_of(line: ProductLine) -> Ground:
    """Return the inputs of a line's suggestions: two queries."""
    shades = list(selectors.shades_with_stock(line=line))
    entries = selectors.chart_entries(salon_id=line.salon_id)
    used = [shade for shade in shades if shade.is_active]
    chart_version = _chart_version(entries)
    recipe: Recipe = {
        "kind": str(line.kind),
        "developer_ratio": float(line.developer_ratio),
        "processing_minutes": float(line.processing_minutes),
        "developer_percent": float(line.developer_percent),
    }
    numbers = [_numbers(shade) for shade in shades]
    text = json.dumps(
        [engine.VERSION, line.name, recipe, numbers, chart_version, line.doubts], sort_keys=True
    )
    return Ground(
        key=hashlib.sha256(text.encode()).hexdigest(),
        line=_engine_line(line, used, recipe),
        whole=_engine_line(line, shades, recipe),
        chart=chart_from(entries),
        stock={shade.name: max(float(shade.grams), 0.0) for shade in used},  # type: ignore[attr-defined]
        prices={s.name: float(s.price_per_gram) for s in used if s.tube_price},
        versions={
            "engine_version": engine.VERSION,
            "data_version": f"line {line.pk}.{line.data_version}, chart {chart_version}",
        },
        doubts=doubts_from(line.doubts, {shade.pk: shade.name for shade in shades}),
    )


def doubts_from(kept: StoredDoubts | None, names: Mapping[int, str]) -> engine.Doubts:
    """Return a line's doubts from how they are kept; those of an unknown line where empty."""
    if not kept:
        return engine.Doubts()
    return engine.Doubts(
        {names[int(pk)]: doubt for pk, doubt in kept["shades"].items() if int(pk) in names},
        line=kept["line"],
        take=kept["take"],
        depth_factor=kept["depth_factor"],
        warmth_factor=kept["warmth_factor"],
    )


def doubts_to_keep(doubts: engine.Doubts, pks: Mapping[str, int]) -> StoredDoubts:
    """Return doubts as they are kept with a line, shades by id."""
    shades = {str(pks[name]): round(v, 4) for name, v in doubts.shades.items() if name in pks}
    return {
        "line": round(float(doubts.line), 4),
        "take": round(float(doubts.take), 4),
        "depth_factor": round(float(doubts.depth_factor), 4),
        "warmth_factor": round(float(doubts.warmth_factor), 4),
        "shades": shades,
    }


def usable_stock(stock: Mapping[str, float], *, bowl_colour_grams: float) -> dict[str, float]:
    """Return stock in coarse steps, rounded down, so that what is cached stays mixable.

    Below two bowls whole grams count, above that whole bowls, up to ten: a bowl drawn
    elsewhere rarely changes the answer.
    """
    coarse = {}
    for name, grams in stock.items():
        bowls = min(int(grams // bowl_colour_grams), _MOST_BOWLS)
        coarse[name] = float(int(grams)) if bowls < 2 else bowls * bowl_colour_grams
    return coarse


def chart_from(entries: list[ChartEntry]) -> engine.Chart:
    """Return the level chart with a salon's own entries put in, one object per content."""
    return _chart(
        tuple(
            (
                float(e.level),
                str(e.kind),
                str(e.standing),
                e.lightness,
                e.green_red,
                e.blue_yellow,
            )
            for e in sorted(entries, key=lambda e: (e.level, e.kind))
        )
    )


@lru_cache(maxsize=16)
def _chart(entries: tuple[tuple[float, str, str, float, float, float], ...]) -> engine.Chart:
    default = engine.Chart.default()
    if not entries:
        return default
    own_entries = []
    for level, kind, source, *colour in entries:
        standing = MEASURED if source == Standing.MEASURED else ASSUMED
        own_entries.append((level, kind, colour, standing))
    return default.with_entries(own_entries)


def _chart_version(entries: list[ChartEntry]) -> str:
    if not entries:
        return "default"
    text = repr(sorted(entry.pk for entry in entries))
    return hashlib.sha256(text.encode()).hexdigest()[:10]


def _engine_line(line: ProductLine, shades: list[Shade], recipe: Recipe) -> engine.Line | None:
    if not shades:
        return None
    return engine.Line(name=line.name, shades=tuple(map(engine_shade, shades)), **recipe)


def check_shade(shade: Shade) -> None:
    """Refuse, as a ValueError that says why, a shade that the engine cannot work with."""
    engine_shade(shade).load(engine.Chart.default())


def default_colour(*, level: Decimal, kind: str) -> tuple[float, float, float]:
    """Return the model's own L*a*b* of a level in half steps, rounded as the chart shows it."""
    chart = engine.Chart.default()
    table = chart.natural_lab if kind == EntryKind.NATURAL else chart.warmth_lab
    lightness, green_red, blue_yellow = table[round((float(level) - 1.0) * 2)]
    return round(float(lightness), 2), round(float(green_red), 2), round(float(blue_yellow), 2)


def engine_shade(shade: Shade) -> engine.Shade:
    """Return a shade as the engine knows it, with the strength that the salon has learned."""
    return engine.Shade(**_numbers(shade))


def _numbers(shade: Shade) -> ShadeNumbers:
    return {
        "name": shade.name,
        "level": None if shade.level is None else float(shade.level),
        "tones": dict(shade.tones),
        "neutral": float(shade.neutral),
        "strength": float(shade.strength),
        "reflectance": shade.reflectance,
    }
