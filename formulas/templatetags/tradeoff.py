"""The template tag that draws the trade-off between warmth and depth."""

import zlib
from dataclasses import replace

from django import template
from django.utils.translation import gettext as _

from formulas.drawing.curve import curve_svg, levels, percent
from formulas.drawing.island import curve_island, sentence
from formulas.drawing.plot import Curve, PlainCurve, read_curve

register = template.Library()


@register.inclusion_tag("formulas/_curve.html")
def tradeoff_curve(
    curve: PlainCurve,
    readonly: bool = False,
    *,
    names_mixes: bool = True,
    has_places: bool = True,
) -> dict[str, object]:
    """Draw the choice plot; what `curve` holds: `formulas.drawing.plot`."""
    plot = read_curve(curve)
    if not names_mixes:  # a client chooses a place, not the shades that lead to it
        unnamed = tuple(replace(mix, label="", why="", cost="") for mix in plot.mixes)
        plot = replace(plot, mixes=unnamed)
    key = f"{zlib.crc32(repr(plot).encode()):08x}"
    chosen = plot.mix_at(plot.chosen if plot.chosen is not None else _middle(plot))
    shown = replace(plot, chosen=chosen.warmth) if chosen else plot
    summary = (
        sentence(chosen) if chosen else _("No mix from this stock has been calculated yet.")
    )
    places = [(place, plot.mix_at(place.warmth)) for place in plot.places]
    return {
        "curve": plot,
        "key": key,
        "readonly": readonly,
        "has_places": has_places,
        "chosen": chosen,
        "value": chosen.warmth if chosen else 100,
        "sentence": summary,
        "svg": curve_svg(shown, title=summary, key=key),
        "island": curve_island(shown),
        "rows": [
            {
                "label": place.label,
                "warmth": mix.words or percent(mix.warmth),
                "deeper": levels(mix.deeper),
            }
            for place, mix in places
            if mix
        ],
    }


def _middle(plot: Curve) -> float:
    return plot.places[len(plot.places) // 2].warmth if plot.places else 50.0
