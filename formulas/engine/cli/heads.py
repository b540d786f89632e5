"""What `suggest` answers for a whole head."""

from collections.abc import Mapping
from typing import Any

from formulas.engine.cli.answers import Answer
from formulas.engine.search.head import head_of
from formulas.engine.search.head_picking import HeadPlace
from formulas.engine.search.offer import offer
from formulas.engine.search.shown import shown
from formulas.engine.toner.lines import Line
from formulas.engine.toner.zone import Zone


def suggested(
    zones: Mapping[str, Zone], line: Line, *, deeper: Mapping[str, float], **how: Any
) -> Answer:
    """Return the head's places as the screen gets them; each number of a zone with its range.

    `how` is passed on to `offer`.
    """
    offers = {name: offer(zone, line, **how) for name, zone in zones.items()}
    head = head_of(offers, deeper=deeper)
    rows = {
        name: shown(offers[name], [place.zones[name].offered for place in head.places])
        for name in zones
    }
    places, text = [], []
    for n, place in enumerate(head.places):
        each = {
            name: {
                **rows[name][n].as_data(),
                "difference_de00": _rounded(place.zones[name].difference),
                "deeper_for_the_whole": _rounded(place.zones[name].deeper_for_the_whole),
            }
            for name in zones
        }
        places.append({**_data(place), "zones": each})
        text.append(
            f"{place.key}: {place.warmth_left_percent:.0f} % of the head's warmth left, looks "
            f"{place.levels_deeper_looks:.2f} levels deeper, zones within "
            f"{place.largest_difference:.1f} CIEDE2000, {len(place.bowls)} bowls"
        )
        for name, zone in place.zones.items():
            mix = ", ".join(f"{count} {shade}" for shade, count in zone.offered.mix.parts)
            text.append(f"    {name}: {mix}")
    return Answer({"places": places}, text)


def _data(place: HeadPlace) -> dict[str, object]:
    return {
        "key": place.key,
        "lab": [_rounded(value) for value in place.lab],
        "warmth_left_percent": _rounded(place.warmth_left_percent),
        "levels_deeper_looks": _rounded(place.levels_deeper_looks),
        "largest_difference_de00": _rounded(place.largest_difference),
        "is_even": place.is_even,
        "held_by": place.held_by,
        "bowls": [list(bowl) for bowl in place.bowls],
    }


def _rounded(value: float) -> float:
    return round(value, 4) + 0.0
