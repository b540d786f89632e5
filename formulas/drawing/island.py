"""What the curve's script needs, as plain data: it only moves what was drawn here."""

from typing import TypedDict

from django.utils.translation import gettext as _

from formulas.drawing.curve import levels, percent, range_path
from formulas.drawing.plot import BOTTOM, LEFT, RIGHT, Curve, Mix


class MixIsland(TypedDict):
    """A mix with its place on the plot, in pixels of the drawing."""

    warmth: float
    x: float
    y: float
    range: str
    hex: str
    damp: str
    label: str
    why: str
    cost: str
    sentence: str


class PlaceIsland(TypedDict):
    """A named place."""

    key: str
    warmth: float


class CurveIsland(TypedDict):
    """The plot's edges and what can be chosen on it."""

    left: float
    right: float
    bottom: float
    coolest: float
    warmest: float
    chosen: float | None
    mixes: list[MixIsland]
    places: list[PlaceIsland]


def curve_island(curve: Curve) -> CurveIsland:
    """Return the mixes with their places on the plot, their colours and their words."""
    return {
        "left": LEFT,
        "right": RIGHT,
        "bottom": BOTTOM,
        "coolest": curve.coolest,
        "warmest": curve.warmest,
        "chosen": curve.chosen,
        "mixes": [
            {
                "warmth": round(mix.warmth, 1),
                "x": round(curve.x(mix.warmth), 1),
                "y": round(curve.y(mix.deeper), 1),
                "range": range_path(curve, mix),
                "hex": mix.hex,
                "damp": mix.damp_hex,
                "label": mix.label,
                "why": mix.why,
                "cost": mix.cost,
                "sentence": sentence(mix),
            }
            for mix in curve.mixes
        ],
        "places": [
            {"key": place.key, "warmth": round(place.warmth, 1)} for place in curve.places
        ],
    }


def sentence(mix: Mix) -> str:
    """Say a mix in one sentence; the caller's own sentence comes first."""
    if mix.sentence:
        return mix.sentence
    warmth = mix.in_full or _("%(percent)s of the warmth left") % {
        "percent": percent(mix.warmth)
    }
    values = {"warmth": warmth[:1].upper() + warmth[1:], "deeper": levels(mix.deeper)}
    if mix.deeper_low is None or mix.deeper_high is None:
        return _("%(warmth)s; the hair looks about %(deeper)s levels deeper.") % values
    values |= {"low": levels(mix.deeper_low), "high": levels(mix.deeper_high)}
    return (
        _(
            "%(warmth)s; the hair looks about %(deeper)s levels deeper "
            "(between %(low)s and %(high)s)."
        )
        % values
    )
