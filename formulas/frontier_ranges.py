"""Honest ranges along a frontier: predicted at a few mixes, interpolated between them.

A full prediction of every mix on the plot would take half a second. Along the frontier the
ranges change slowly, so they are worked out at seven mixes and their distances to the value
interpolated; the tests compare them with full predictions in between.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

import numpy as np

from formulas import engine
from formulas.engine_inputs import Ground, ZoneInput, ground_of
from formulas.models import ProductLine

ANCHORS = 7
_KEYS = (
    ("warmth_low", "warmth_left_percent", "low"),
    ("warmth_high", "warmth_left_percent", "high"),
    ("deeper_low", "levels_deeper_looks", "low"),
    ("deeper_high", "levels_deeper_looks", "high"),
)

Parts = tuple[tuple[str, float], ...]


def with_ranges(
    *,
    line: ProductLine,
    zone: ZoneInput,
    mixes: Sequence[Mapping[str, Any]],
    minutes: float | None = None,
) -> list[dict[str, Any]]:
    """Return the mixes, warmest first as given, each with its low and high bounds."""
    return ranged(ground=ground_of(line), zone=zone, mixes=mixes, minutes=minutes)


def ranged(
    *,
    ground: Ground,
    zone: ZoneInput,
    mixes: Sequence[Mapping[str, Any]],
    minutes: float | None = None,
) -> list[dict[str, Any]]:
    """Return the mixes, warmest first as given, each with its low and high bounds."""
    if not mixes:
        return []
    places = sorted({round(i) for i in np.linspace(0, len(mixes) - 1, ANCHORS)})
    anchors = tuple(tuple((str(n), float(p)) for n, p in mixes[i]["parts"]) for i in places)
    offsets = _offsets(ground, zone, minutes, anchors)
    found = [dict(mix) for mix in mixes]
    for name, of, _side in _KEYS:
        between = np.interp(range(len(mixes)), places, [one[name] for one in offsets])
        for mix, offset in zip(found, between, strict=True):
            mix[name] = round(float(mix[of] + offset), 2)
    return found


@lru_cache(maxsize=64)
def _offsets(
    ground: Ground, zone: ZoneInput, minutes: float | None, anchors: tuple[Parts, ...]
) -> list[dict[str, float]]:
    """Return the distances from the value to its bounds, at each anchor."""
    read, line = ground.zone(zone), ground.in_use()
    offsets = []
    for parts in anchors:
        told = engine.predict(
            read,
            line,
            dict(parts),
            minutes=minutes,
            chart=ground.chart,
            doubts=ground.doubts_of(zone),
        )
        offsets.append(
            {
                name: getattr(getattr(told, of), side) - getattr(told, of).value
                for name, of, side in _KEYS
            }
        )
    return offsets
