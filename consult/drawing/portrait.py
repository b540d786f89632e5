"""Draw a head of hair from behind as the client sees it: no borders, no words.

Colours run into each other from the roots to the ends. Locks and single hairs over them are
lighter and darker, so that the mean of what is drawn is the colour (see `coverage`) and two
heads compare as their colours do.
"""

import random
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from django.utils.safestring import SafeString

from consult.drawing.head import ZONES, at, outline, run
from salon.drawing.colour import hex_to_lab, shifted
from salon.drawing.coverage import Layer, centred, shares
from salon.drawing.markup import drawing
from salon.drawing.paths import relative
from salon.drawing.strand import room

# Where along the hair a zone shows its own colour; in between they run into each other.
PURE = {"roots": (0.0, 0.2), "mid_lengths": (0.36, 0.6), "ends": (0.78, 1.0)}
WIDTH, HEIGHT = 352.0, 358.0
LOCKS, HAIRS = 22, 96
LOCK_TONES = (-6.0, -3.0, 2.0, 5.0)
HAIR_TONES = (-13.0, -8.0, -4.0, 3.0, 7.0, 11.0)


@dataclass(frozen=True)
class Gradient:
    """The colours of one tone from the roots to the ends; stops are offset, zone, colour."""

    name: str
    tone: str
    share: str
    top: str
    bottom: str
    stops: tuple[tuple[str, str, str], ...]


def portrait_svg(colours: Mapping[str, str], *, key: str, title: str) -> SafeString:
    """Return the head as `<svg>`; `colours` by zone, `key` keeps its gradients apart.

    The locks and hairs are those of `strokes_svg`, which a page with heads holds once.
    """
    full = filled(colours)
    labs = {zone: hex_to_lab(colour) for zone, colour in full.items()}
    tones = tone_shares()
    reach = {zone: room(lab[0]) for zone, lab in labs.items()}
    bases = {zone: centred(lab, tones, room=reach[zone]) for zone, lab in labs.items()}
    strokes = _strokes()
    return drawing(
        "portrait",
        title=title,
        gradients=[
            _gradient(
                key,
                shift,
                share,
                {zone: shifted(base, shift * reach[zone]) for zone, base in bases.items()},
            )
            for shift, share in sorted(tones.items())
        ],
        hair=_name(key, 0.0),
        outline=relative(outline(0.0, 1.0)),
        strokes=[(_name(key, shift), f"{width:g}") for _layer, shift, width, _d in strokes],
    )


def strokes_svg() -> SafeString:
    """Return what every head is drawn with: its locks and hairs, without colour."""
    return drawing("portrait_strokes", paths=[relative(d) for *_kind, d in _strokes()])


def filled(colours: Mapping[str, str]) -> dict[str, str]:
    """Return a colour for every zone; one that has none takes the nearest zone's."""
    order = {
        "roots": ("roots", "mid_lengths", "ends"),
        "mid_lengths": ("mid_lengths", "roots", "ends"),
        "ends": ("ends", "mid_lengths", "roots"),
    }
    return {
        zone: next(colours[near] for near in order[zone] if colours.get(near)) for zone in ZONES
    }


def _name(key: str, shift: float) -> str:
    return f"{key}-{round(shift * 10)}".replace("--", "-m")


def _gradient(key: str, shift: float, share: float, colours: Mapping[str, str]) -> Gradient:
    top, bottom = at(0.5, 0.0)[1], at(0.5, 1.0)[1]
    stops = tuple(
        (
            f"{(at(0.5, t)[1] - top) / (bottom - top):.3f}",
            zone,
            colours[zone],
        )
        for zone in ZONES
        for t in PURE[zone]
    )
    return Gradient(
        _name(key, shift), f"{shift:.2f}", f"{share:.4f}", f"{top:.1f}", f"{bottom:.1f}", stops
    )


@lru_cache(maxsize=1)
def tone_shares() -> dict[float, float]:
    """Return how much of a head each tone covers; they sum to 1."""
    layers = [Layer(0.0, outline(0.0, 1.0))]
    layers += [Layer(shift, d, width) for _layer, shift, width, d in _strokes()]
    return shares(layers, width=WIDTH, height=HEIGHT)


@lru_cache(maxsize=1)
def _strokes() -> list[tuple[int, float, float, str]]:
    """Return (layer, shift in L*, width, path), whose shifts cancel out over the head."""
    dice = random.Random(23)  # noqa: S311 - a drawing, not a secret
    found: dict[tuple[int, float, float], list[str]] = {}
    area: dict[tuple[int, float, float], float] = {}

    def lay(key: tuple[int, float, float], u: float, start: float, end: float) -> None:
        width = key[2]
        found.setdefault(key, []).append(run(u, start, end))
        area[key] = area.get(key, 0.0) + width * (end - start)

    for n in range(LOCKS):
        u = -0.96 + 1.92 * (n + dice.uniform(0.1, 0.9)) / LOCKS
        tone = _nearest(LOCK_TONES, dice.choice(LOCK_TONES) - 5 * abs(u) ** 3)
        lay((0, tone, 7.0), u, 0.02, dice.uniform(0.88, 0.97))
    for n in range(HAIRS):
        u = -1 + 2 * (n + dice.uniform(0.1, 0.9)) / HAIRS
        tone = _nearest(HAIR_TONES, dice.choice(HAIR_TONES) - 8 * abs(u) ** 4)
        lay((1, tone, 1.6), u, 0.0, 1.0 + dice.uniform(-0.015, 0.02))
    for n in range(HAIRS // 2):  # a band of light where the head turns to it
        u = min(0.9, max(-0.9, dice.gauss(-0.1, 0.4)))
        middle, half = dice.uniform(0.14, 0.42), dice.uniform(0.04, 0.1)
        lay((2, 9.0 if n % 3 else 5.0, 1.0), u, middle - half, middle + half)
    light = sum(key[1] * area[key] for key in found if key[1] > 0)
    dark = -sum(key[1] * area[key] for key in found if key[1] < 0)
    balance = light / dark
    return [
        (layer, round(tone * balance, 2) if tone < 0 else tone, width, "".join(paths))
        for (layer, tone, width), paths in sorted(found.items())
    ]


def _nearest(tones: tuple[float, ...], wanted: float) -> float:
    return min(tones, key=lambda tone: abs(tone - wanted))
