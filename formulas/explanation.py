"""The engine's explanation for a hand-set base and mix, as plain data to be drawn."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from formulas import engine, engine_inputs, refusals, suggestion
from formulas.engine.light.grid import WAVELENGTHS_NM
from formulas.engine_inputs import ZoneInput
from formulas.engine_results import limit_points
from formulas.models import ProductLine
from formulas.place_names import place_label
from formulas.shelf_search import ShelfTooEmpty
from salon.refusals import Refused


def explain(
    *, line: ProductLine, zone: ZoneInput, parts: Mapping[str, float], minutes: float
) -> dict[str, Any]:
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
    return {
        "prediction": prediction,
        "wavelengths_nm": [float(nm) for nm in WAVELENGTHS_NM],
        "reflectance": {
            "start": _values(bed.reflectance()),
            "dry": _values(bed.reflectance(deposit)),
            "damp": _values(bed.damp(deposit)),
        },
        "deposit": [
            {"shade": bed.names[i], "ks": _values(taken * fractions[i] * bed.loads[i])}
            for i in np.flatnonzero(fractions)
        ],
        "limit": limit_points(limit),
        "least_possible": round(float(limit.at(warmth)), 3),
        **_reachable(line, zone, minutes),
    }


def balanced_mix(line: ProductLine, zone: ZoneInput) -> list[tuple[str, float]]:
    """Return the mix half-way along what the shelf reaches, or the line's first shade."""
    try:
        data = suggestion.suggest(line=line, zone=zone).data
    except (ValueError, Refused):
        first = line.shades.filter(is_active=True).first()
        return [(first.name, 1.0)] if first else []
    between = next(p for p in data["places"] if p["key"] == "between")
    mix = min(
        data["mixes"],
        key=lambda m: abs(m["warmth_left_percent"] - between["warmth_left_percent"]),
    )
    return [(name, float(part)) for name, part in mix["parts"]]


def _reachable(line: ProductLine, zone: ZoneInput, minutes: float) -> dict[str, Any]:
    """Return the frontier of the shelf, or why there is none."""
    try:
        data = suggestion.suggest(line=line, zone=zone, minutes=minutes).data
    except ShelfTooEmpty as error:
        return {"mixes": [], "places": [], "evaluated": 0, "shelf": refusals.in_words(error)}
    return {
        "mixes": data["mixes"],
        "places": [{**place, "label": place_label(place["key"])} for place in data["places"]],
        "evaluated": data["evaluated"],
        "shelf": "",
    }


def _values(array: Any) -> list[float]:
    return [round(float(value), 4) for value in array]
