"""Draw the trade-off: warmth left against how much deeper the hair looks.

Left is as warm as lifted, right is cool; up is as light as now, down is deeper. Above the
thick line lies what no deposit can give; it is hatched and says so in words. The plot stands
in the grey booth in both themes, so its greys are fixed attributes and print as they are.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from django.utils.formats import number_format
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from formulas.drawing.plot import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, Curve, LastMark, Mix, Place
from salon.drawing.markup import Text, drawing, path, text

INK, PAPER = "#0e0e0e", "#f6f6f6"
Points = list[tuple[float, float]]


@dataclass(frozen=True)
class Dot:
    """A place in the plot with its colour."""

    x: str
    y: str
    hex: str


@dataclass(frozen=True)
class Beyond:
    """The region that no mix reaches, and the plate with the words in it."""

    d: str
    plate_x: str
    plate_width: str
    words: tuple[Text, Text]


@dataclass(frozen=True)
class Reach:
    """What stock can reach, as a band of hair: each stretch in the colour it gives."""

    d: str
    tips: tuple[Dot, Dot]
    stretches: tuple[tuple[str, str], ...]  # path, colour


@dataclass(frozen=True)
class NamedPlace:
    """A named place: its mark and its name, with a line between them."""

    key: str
    dot: Dot
    lead: str
    name: Text


@dataclass(frozen=True)
class LastTime:
    """Last time's place as promised, hollow, and as it came out, filled."""

    marks: tuple[Dot, ...]
    line: str
    words: Text


@dataclass(frozen=True)
class Axes:
    """Both scales: levels down the side, warmth along the foot."""

    levels: tuple[Text, ...]
    ticks: tuple[str, ...]  # how far down
    rules: tuple[str, ...]
    warmth_ticks: tuple[str, ...]  # how far across
    warmth: tuple[Text, ...]


def curve_svg(curve: Curve, *, title: str, key: str) -> SafeString:
    """Return the plot as `<svg>`; `key` keeps its hatch apart from other plots on the page."""
    mix = None if curve.chosen is None else curve.mix_at(curve.chosen)
    limit = _limit_points(curve)
    return drawing(
        "curve",
        title=title,
        key=key,
        band=_band(curve),
        beyond=_beyond(limit) if len(limit) > 1 else None,
        axes=_axes(curve),
        headings=(text(12, 22, _("Levels deeper"), bold=True), text(12, 41, _("levels"))),
        cross=f"M{LEFT} {curve.y(mix.deeper):.1f}H{curve.x(mix.warmth):.1f}V{BOTTOM}"
        if mix
        else "M0 0",
        limit_band=_limit_band(curve),
        reach=_reach(curve) if curve.mixes else None,
        limit=path(limit) if len(limit) > 1 else "",
        range=range_path(curve, mix) if mix else "M0 0",
        places=[_place(curve, p, at) for p in curve.places if (at := curve.mix_at(p.warmth))],
        now=_now(curve),
        last=_last(curve, curve.last) if curve.last else None,
        chosen=_dot(curve, mix) if mix else None,
    )


def percent(value: float) -> str:
    """Return a share in the reader's own digits; a true minus sign, no decimals."""
    return _("%(number)s %%") % {"number": number_format(round(value), 0).replace("-", "−")}


def levels(value: float) -> str:
    """Return levels with one decimal in the reader's own digits."""
    return number_format(round(value, 1) + 0.0, 1).replace("-", "−")


def _dot(curve: Curve, mix: Mix) -> Dot:
    return Dot(f"{curve.x(mix.warmth):.1f}", f"{curve.y(mix.deeper):.1f}", mix.hex)


def _limit_points(curve: Curve) -> Points:
    inside = [(w, d) for w, d in curve.limit if curve.coolest <= w <= curve.warmest]
    return [(curve.x(w), curve.y(min(d, curve.deepest))) for w, d in inside]


def _beyond(limit: Points) -> Beyond:
    region = [*limit, (limit[-1][0], TOP), (limit[0][0], TOP)]
    lines = (_("No mix can be here:"), _("this cool and this light"))
    width = 7.2 * max(map(len, lines)) + 16
    left = RIGHT - width - 3
    first, second = (
        Text(f"{left + width / 2:.0f}", f"{TOP + 20.5 + 18 * row}", words)
        for row, words in enumerate(lines)
    )
    return Beyond(path(region) + "Z", f"{left:.0f}", f"{width:.0f}", (first, second))


def _limit_band(curve: Curve) -> str:
    """Return where the line may lie, by the doubts of the reading that it rests on."""
    known = [p for p in curve.limit_band if curve.coolest <= p[0] <= curve.warmest]
    if len(known) < 2:
        return ""
    low = [(curve.x(w), curve.y(min(max(0.0, d), curve.deepest))) for w, d, _high in known]
    high = [(curve.x(w), curve.y(min(d, curve.deepest))) for w, _low, d in known]
    return path([*low, *reversed(high)]) + "Z"


def _band(curve: Curve) -> str:
    """Return the ranges of what stock can reach as one region."""
    known = [m for m in curve.mixes if m.deeper_low is not None and m.deeper_high is not None]
    if len(known) < 2:
        return ""
    top = [(curve.x(m.warmth), curve.y(max(0.0, m.deeper_low or 0.0))) for m in known]
    low = [(curve.x(m.warmth), curve.y(min(m.deeper_high or 0, curve.deepest))) for m in known]
    return path([*top, *reversed(low)]) + "Z"


def _axes(curve: Curve) -> Axes:
    levels_down = range(int(curve.deepest) + 1)
    at = [curve.y(level) for level in levels_down]
    warmth_ticks, warmth = _warmth_axis(curve)
    return Axes(
        levels=tuple(
            text(LEFT - 14, y + 5.5, str(level), anchor="end")
            for level, y in zip(levels_down, at, strict=True)
        ),
        ticks=tuple(f"{y:.1f}" for y in at),
        rules=tuple(
            f"{curve.y(level):.1f}" for level in levels_down if 0 < level < curve.deepest
        ),
        warmth_ticks=warmth_ticks,
        warmth=warmth,
    )


def _warmth_axis(curve: Curve) -> tuple[tuple[str, ...], tuple[Text, ...]]:
    """Return the scale of warmth: per cent down to neutral, words beyond it."""
    foot = BOTTOM + 24
    name = text(LEFT, HEIGHT - 9, _("Warmth left"), bold=True)
    if not curve.shows_percent:
        ends = (text(LEFT, foot, _("warmer")), text(RIGHT, foot, _("ashy"), anchor="end"))
        return (), (name, *ends)
    step = 25 if curve.coolest >= 0 else 20
    steps = range(100, int(curve.coolest) - 1, -step)
    numbers = [
        text(
            curve.x(warmth),
            foot,
            percent(warmth) if warmth >= 0 else _("ashy"),
            anchor="end" if curve.x(warmth) > RIGHT - 12 else "middle",
        )
        for warmth in steps
    ]
    neutral = text(RIGHT, HEIGHT - 9, _("0 % is as neutral as natural hair"), anchor="end")
    return tuple(f"{curve.x(warmth):.1f}" for warmth in steps), (*numbers, name, neutral)


def _reach(curve: Curve) -> Reach:
    points = [(curve.x(m.warmth), curve.y(m.deeper)) for m in curve.mixes]
    ends = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in pairwise(points)]
    starts = [(a[0] * 0.6 + b[0] * 0.4, a[1] * 0.6 + b[1] * 0.4) for a, b in pairwise(points)]
    stretches = tuple(
        (path([start, point, end]), mix.hex)
        for start, point, end, mix in zip(
            [points[0], *starts], points, [*ends, points[-1]], curve.mixes, strict=True
        )
    )
    tips = (_dot(curve, curve.mixes[0]), _dot(curve, curve.mixes[-1]))
    return Reach(path(points), tips, stretches)


def _place(curve: Curve, place: Place, mix: Mix) -> NamedPlace:
    x, y = curve.x(mix.warmth), curve.y(mix.deeper)
    below = y + 46 < BOTTOM - 6
    at = y + 46 if below else y - 30
    anchor = "end" if x > RIGHT - 50 else "start" if x < LEFT + 50 else "middle"
    ends = (y + 11, at - 15) if below else (y - 11, at + 5)
    lead = f"M{x:.1f} {ends[0]:.1f}V{ends[1]:.1f}"
    name = text(x, at, place.label, anchor=anchor, bold=True)
    return NamedPlace(place.key, _dot(curve, mix), lead, name)


def _now(curve: Curve) -> Mapping[str, object] | None:
    colour = curve.start.get("hex")
    if not colour:
        return None
    x, y = curve.x(min(curve.start_percent, curve.warmest)), curve.y(0.0)
    words = text(x + 24, y - 12, _("Now, after lightening"), bold=True)
    return {"x": f"{x - 10:.1f}", "y": f"{y - 10:.1f}", "hex": colour, "words": words}


def _last(curve: Curve, last: LastMark) -> LastTime:
    points = [(last["warmth"], last["deeper"])]
    if "seen_warmth" in last:
        points.append((last["seen_warmth"], last["seen_deeper"]))
    at = [
        (
            curve.x(min(max(warmth, curve.coolest), curve.warmest)),
            curve.y(min(max(deeper, 0.0), curve.deepest)),
        )
        for warmth, deeper in points
    ]
    return LastTime(
        marks=tuple(
            Dot(f"{x:.1f}", f"{y - 9:.1f}", fill)
            for (x, y), fill in zip(at, (PAPER, INK), strict=False)
        ),
        line=path(at) if len(at) > 1 else "",
        words=_last_words(at),
    )


def _last_words(at: Sequence[tuple[float, float]]) -> Text:
    x, y = at[-1]
    words = _("Last time: result here") if len(at) > 1 else _("Last time")
    anchor = "end" if x > (LEFT + RIGHT) / 2 else "start"
    return text(x - 16 if anchor == "end" else x + 16, y - 14, words, anchor=anchor)


def range_path(curve: Curve, mix: Mix) -> str:
    """Return the cross of the two intervals of a mix, or an empty path where unknown."""
    x, y = curve.x(mix.warmth), curve.y(mix.deeper)
    d = ""
    if mix.deeper_low is not None and mix.deeper_high is not None:
        low, high = max(0.0, mix.deeper_low), min(mix.deeper_high, curve.deepest)
        d += f"M{x:.1f} {curve.y(low):.1f}V{curve.y(high):.1f}"
    if mix.warmth_low is not None and mix.warmth_high is not None:
        warm, cool = min(curve.warmest, mix.warmth_high), max(curve.coolest, mix.warmth_low)
        d += f"M{curve.x(warm):.1f} {y:.1f}H{curve.x(cool):.1f}"
    return d or "M0 0"
