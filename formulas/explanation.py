"""The engine's explanation for a hand-set base and mix, to be drawn."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypedDict

import numpy as np

from formulas import engine, engine_inputs, refusals, suggestion
from formulas.drawing import plot
from formulas.engine.light.grid import WAVELENGTHS_NM, Array
from formulas.engine_inputs import ZoneInput
from formulas.engine_results import limit_points
from formulas.models import ProductLine
from formulas.place_names import place_label
from formulas.shelf_search import ShelfTooEmpty
from formulas.snapshots import Mix, Prediction
from salon.refusals import Refused


class Deposit(TypedDict):
    """What a shade of the mix absorbs: K/S by wavelength."""

    shade: str
    ks: list[float]


@dataclass(frozen=True)
class Reachable:
    """The frontier of the shelf, or why there is none."""

    mixes: Sequence[Mix] = ()
    places: Sequence[plot.PlainPlace] = ()
    evaluated: int = 0
    shelf: str = ""


@dataclass(frozen=True)
class Explanation:
    """A mix on a base: its prediction, spectra from 400 to 700 nm, and the limit.

    `reflectance` is before ("start") and after ("dry", "damp"); `least_possible` are the levels
    that any mix as warm would look deeper.
    """

    prediction: Prediction
    wavelengths_nm: Sequence[float]
    reflectance: Mapping[str, Sequence[float]]
    deposit: Sequence[Deposit]
    limit: Sequence[Sequence[float]]
    least_possible: float
    reachable: Reachable


def explain(
    *, line: ProductLine, zone: ZoneInput, parts: Mapping[str, float], minutes: float
) -> Explanation:
    """Return spectra, colours, the limit with the frontier, and the explanation of a mix.

    Raises
    ------
    ValueError
        If a shade is not in the line or a number is out of range.
    """
    ground = engine_inputs.ground_of(line)
    prediction = suggestion.predict_mix(line=line, zone=zone, parts=parts, minutes=minutes)
    read = ground.zone(zone)
    bed = engine.prepare(read, ground.in_use(), minutes=minutes, chart=ground.chart)
    fractions = bed.fractions(parts)
    deposit = fractions @ bed.loads
    taken = float(bed.shares @ bed.uptake)  # on all fibres together
    limit = engine.limit(read, chart=ground.chart)
    warmth = prediction["warmth_left_percent"]["value"]
    return Explanation(
        prediction=prediction,
        wavelengths_nm=[float(nm) for nm in WAVELENGTHS_NM],
        reflectance={
            "start": _values(bed.reflectance()),
            "dry": _values(bed.reflectance(deposit)),
            "damp": _values(bed.damp(deposit)),
        },
        deposit=[
            {"shade": bed.names[i], "ks": _values(taken * fractions[i] * bed.loads[i])}
            for i in np.flatnonzero(fractions)
        ],
        limit=limit_points(limit),
        least_possible=round(float(limit.at(warmth)), 3),
        reachable=_reachable(line, zone, minutes),
    )


def balanced_mix(line: ProductLine, zone: ZoneInput) -> list[tuple[str, float]]:
    """Return the mix half-way along what the shelf reaches, or the line's first shade."""
    try:
        found = suggestion.suggest(line=line, zone=zone)
    except (ValueError, Refused):
        first = line.shades.filter(is_active=True).first()
        return [(first.name, 1.0)] if first else []
    between = next(p for p in found.places if p["key"] == "between")
    mix = min(
        found.mixes,
        key=lambda m: abs(m["warmth_left_percent"] - between["warmth_left_percent"]),
    )
    return [(name, float(part)) for name, part in mix["parts"]]


def _reachable(line: ProductLine, zone: ZoneInput, minutes: float) -> Reachable:
    try:
        found = suggestion.suggest(line=line, zone=zone, minutes=minutes)
    except ShelfTooEmpty as error:
        return Reachable(shelf=refusals.in_words(error))
    places: list[plot.PlainPlace] = [
        {
            "key": place["key"],
            "label": place_label(place["key"]),
            "warmth_left_percent": place["warmth_left_percent"],
        }
        for place in found.places
    ]
    return Reachable(found.mixes, places, found.evaluated)


def _values(array: Array) -> list[float]:
    return [round(float(value), 4) for value in array]
