"""Draw the trade-off: warmth left against how much deeper the hair looks.

Left is as warm as lifted, right is cool; up is as light as now, down is deeper. Above the
thick line lies what no deposit can give; it is hatched and says so in words. The plot stands
in the grey booth in both themes, so its greys are fixed attributes and print as they are.
"""

from collections.abc import Iterable
from itertools import pairwise

from django.utils.formats import number_format
from django.utils.html import escape
from django.utils.translation import gettext as _

from salon.drawing.plot import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH, Curve, Mix

BOLD = ' font-weight="650"'
# A copy of the words under the words: WeasyPrint knows no paint-order.
HALO = ' aria-hidden="true" stroke="#c9c9c9" stroke-width="5" stroke-linejoin="round"'
INK, PAPER, BOOTH, FIELD, MID = "#0e0e0e", "#f6f6f6", "#969696", "#ababab", "#3e3e3e"


def curve_svg(curve: Curve, *, title: str, key: str) -> str:
    """Return the plot as `<svg>`; `key` keeps its hatch apart from other plots on the page."""
    chosen = None if curve.chosen is None else curve.mix_at(curve.chosen)
    return (
        f'<svg class="curve__plot" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img"'
        f' aria-label="{escape(title)}" fill="none" font-size="16" data-plot="">'
        f"{_hatch(key)}{_field(curve)}{_band(curve)}{_beyond(curve, key)}{_axes(curve)}"
        f"{_cross(curve, chosen)}{_limit_band(curve)}{_mixes(curve)}{_limit(curve)}"
        f"{_range(curve, chosen)}"
        f"{_places(curve)}{_now(curve)}{_last(curve)}{_chosen(curve, chosen)}"
        "</svg>"
    )


def percent(value: float) -> str:
    """Return a share in the reader's own digits; a true minus sign, no decimals."""
    return _("%(number)s %%") % {"number": number_format(round(value), 0).replace("-", "−")}


def levels(value: float) -> str:
    """Return levels with one decimal in the reader's own digits."""
    return number_format(round(value, 1) + 0.0, 1).replace("-", "−")


def _path(points: Iterable[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def _text(x: float, y: float, label: str, *, anchor: str = "start", extra: str = "") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{INK}"{extra}>'
        f"{escape(label)}</text>"
    )


def _hatch(key: str) -> str:
    return (
        f'<defs><pattern id="beyond-{key}" width="9" height="9" patternUnits="userSpaceOnUse"'
        f' patternTransform="rotate(45)"><path d="M0 0V9" stroke="{MID}" stroke-width="2"/>'
        "</pattern></defs>"
    )


def _field(curve: Curve) -> str:
    return (
        f'<rect x="{LEFT}" y="{TOP}" width="{RIGHT - LEFT}" height="{BOTTOM - TOP}"'
        f' fill="{FIELD}"/>'
    )


def _limit_points(curve: Curve) -> list[tuple[float, float]]:
    inside = [(w, d) for w, d in curve.limit if curve.coolest <= w <= curve.warmest]
    return [(curve.x(w), curve.y(min(d, curve.deepest))) for w, d in inside]


def _beyond(curve: Curve, key: str) -> str:
    points = _limit_points(curve)
    if len(points) < 2:
        return ""
    region = [*points, (points[-1][0], TOP), (points[0][0], TOP)]
    d = _path(region) + "Z"
    lines = (_("No mix can be here:"), _("this cool and this light"))
    plate = 7.2 * max(map(len, lines)) + 16
    left, top = RIGHT - plate - 3, TOP + 3
    return (
        f'<path d="{d}" fill="{BOOTH}"/><path d="{d}" fill="url(#beyond-{key})"/>'
        f'<rect x="{left:.0f}" y="{top}" width="{plate:.0f}" height="43" fill="{INK}"/>'
        + "".join(
            f'<text x="{left + plate / 2:.0f}" y="{top + 17.5 + 18 * row}" text-anchor="middle"'
            f' fill="{PAPER}" font-size="15" font-weight="600">{escape(label)}</text>'
            for row, label in enumerate(lines)
        )
    )


def _limit(curve: Curve) -> str:
    points = _limit_points(curve)
    if len(points) < 2:
        return ""
    return f'<path d="{_path(points)}" stroke="{INK}" stroke-width="4"/>'


def _limit_band(curve: Curve) -> str:
    """Return where the line may lie, by the doubts of the reading that it rests on."""
    known = [p for p in curve.limit_band if curve.coolest <= p[0] <= curve.warmest]
    if len(known) < 2:
        return ""
    low = [(curve.x(w), curve.y(min(max(0.0, d), curve.deepest))) for w, d, _high in known]
    high = [(curve.x(w), curve.y(min(d, curve.deepest))) for w, _low, d in known]
    return (
        f'<path data-limit-band="" d="{_path([*low, *reversed(high)])}Z" fill="{INK}"'
        f' fill-opacity="0.28" stroke="{INK}" stroke-width="1" stroke-dasharray="3 4"/>'
    )


def _band(curve: Curve) -> str:
    known = [m for m in curve.mixes if m.deeper_low is not None and m.deeper_high is not None]
    if len(known) < 2:
        return ""
    top = [(curve.x(m.warmth), curve.y(max(0.0, m.deeper_low or 0.0))) for m in known]
    low = [(curve.x(m.warmth), curve.y(min(m.deeper_high or 0, curve.deepest))) for m in known]
    return f'<path d="{_path([*top, *reversed(low)])}Z" fill="{PAPER}" fill-opacity="0.45"/>'


def _axes(curve: Curve) -> str:
    parts = [f'<path d="M{LEFT} {TOP}V{BOTTOM}H{RIGHT}" stroke="{INK}" stroke-width="1.5"/>']
    parts.append(_text(12, 22, _("Levels deeper"), extra=BOLD))
    parts.append(_text(12, 41, _("levels")))
    for half in range(int(curve.deepest) + 1):
        y = curve.y(half)
        parts.append(
            f'<path d="M{LEFT - 7} {y:.1f}H{LEFT}" stroke="{INK}" stroke-width="1.5"/>'
        )
        parts.append(_text(LEFT - 14, y + 5.5, str(half), anchor="end"))
        if 0 < half < curve.deepest:
            parts.append(
                f'<path d="M{LEFT} {y:.1f}H{RIGHT}" stroke="{MID}" stroke-width="0.75"'
                ' stroke-dasharray="2 5"/>'
            )
    return f'<g data-axes="">{"".join(parts)}{_warmth_axis(curve)}</g>'


def _warmth_axis(curve: Curve) -> str:
    """Return the scale of warmth: per cent down to neutral, words beyond it."""
    name = _text(LEFT, HEIGHT - 9, _("Warmth left"), extra=BOLD)
    if not curve.shows_percent:
        ends = ((LEFT, _("warmer"), "start"), (RIGHT, _("ashy"), "end"))
        return name + "".join(_text(x, BOTTOM + 24, w, anchor=a) for x, w, a in ends)
    parts = []
    step = 25 if curve.coolest >= 0 else 20
    for warmth in range(100, int(curve.coolest) - 1, -step):
        x = curve.x(warmth)
        parts.append(f'<path d="M{x:.1f} {BOTTOM}v7" stroke="{INK}" stroke-width="1.5"/>')
        anchor = "end" if x > RIGHT - 12 else "middle"
        words = percent(warmth) if warmth >= 0 else _("ashy")
        parts.append(_text(x, BOTTOM + 24, words, anchor=anchor))
    neutral = _("0 % is as neutral as natural hair")
    return "".join(parts) + name + _text(RIGHT, HEIGHT - 9, neutral, anchor="end")


def _mixes(curve: Curve) -> str:
    """Return what stock can reach as a band of hair, each stretch in the colour it gives."""
    points = [(curve.x(m.warmth), curve.y(m.deeper)) for m in curve.mixes]
    if not points:
        return ""
    ends = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in pairwise(points)]
    starts = [(a[0] * 0.6 + b[0] * 0.4, a[1] * 0.6 + b[1] * 0.4) for a, b in pairwise(points)]
    hair = "".join(
        f'<path d="{_path([start, point, end])}" stroke="{escape(mix.hex)}" stroke-width="9"/>'
        for start, point, end, mix in zip(
            [points[0], *starts], points, [*ends, points[-1]], curve.mixes, strict=True
        )
    )
    tips = "".join(
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4.5" fill="{escape(mix.hex)}"/>'
        for (x, y), mix in ((points[0], curve.mixes[0]), (points[-1], curve.mixes[-1]))
    )
    return (
        f'<path d="{_path(points)}" stroke="{INK}" stroke-width="13" stroke-linejoin="round"'
        f' stroke-linecap="round"/>{tips}{hair}'
    )


def _places(curve: Curve) -> str:
    drawn = []
    for place in curve.places:
        mix = curve.mix_at(place.warmth)
        if mix is None:
            continue
        x, y = curve.x(mix.warmth), curve.y(mix.deeper)
        below = y + 46 < BOTTOM - 6
        at = y + 46 if below else y - 30
        anchor = "end" if x > RIGHT - 50 else "start" if x < LEFT + 50 else "middle"
        ends = (y + 11, at - 15) if below else (y - 11, at + 5)
        drawn.append(
            f'<g data-place="{escape(place.key)}">'
            f'<path d="M{x:.1f} {ends[0]:.1f}V{ends[1]:.1f}" stroke="{INK}"'
            ' stroke-width="1.5"/>'
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="10" fill="{escape(mix.hex)}"'
            f' stroke="{INK}" stroke-width="3"/>'
            f"{_text(x, at, place.label, anchor=anchor, extra=BOLD + HALO)}"
            f"{_text(x, at, place.label, anchor=anchor, extra=BOLD)}</g>"
        )
    return "".join(drawn)


def _now(curve: Curve) -> str:
    colour = curve.start.get("hex")
    if not colour:
        return ""
    x, y = curve.x(min(curve.start_percent, curve.warmest)), curve.y(0.0)
    return (
        f'<rect x="{x - 10:.1f}" y="{y - 10:.1f}" width="20" height="20"'
        f' fill="{escape(colour)}" stroke="{INK}" stroke-width="3"/>'
        + _text(x + 24, y - 12, _("Now, after lightening"), extra=BOLD)
    )


def _last(curve: Curve) -> str:
    """Return last time's place as promised, hollow, and as it came out, filled."""
    if not curve.last:
        return ""
    last = curve.last
    points = [(last["warmth"], last["deeper"], PAPER)]
    if "seen_warmth" in last:
        points.append((last["seen_warmth"], last["seen_deeper"], INK))
    at = [
        (
            curve.x(min(max(warmth, curve.coolest), curve.warmest)),
            curve.y(min(max(deeper, 0.0), curve.deepest)),
            fill,
        )
        for warmth, deeper, fill in points
    ]
    marks = "".join(
        f'<path d="M{x:.1f} {y - 9:.1f}l9 9l-9 9l-9-9Z" fill="{fill}" stroke="{INK}"'
        ' stroke-width="2.5"/>'
        for x, y, fill in at
    )
    line = (
        f'<path d="{_path([(x, y) for x, y, _fill in at])}" stroke="{INK}" stroke-width="2"/>'
    )
    x, y, _fill = at[-1]
    text = _("Last time: result here") if len(at) > 1 else _("Last time")
    anchor = "end" if x > (LEFT + RIGHT) / 2 else "start"
    to = x - 16 if anchor == "end" else x + 16
    label = _text(to, y - 14, text, anchor=anchor, extra=HALO) + _text(
        to, y - 14, text, anchor=anchor
    )
    return f'<g data-last="">{line if len(at) > 1 else ""}{marks}{label}</g>'


def _cross(curve: Curve, mix: Mix | None) -> str:
    """Return lines from the client's place to both axes, under everything else."""
    d = (
        f"M{LEFT} {curve.y(mix.deeper):.1f}H{curve.x(mix.warmth):.1f}V{BOTTOM}"
        if mix
        else "M0 0"
    )
    return (
        f'<path data-cross="" d="{d}" stroke="{INK}" stroke-width="2" stroke-dasharray="7 5"/>'
    )


def _range(curve: Curve, mix: Mix | None) -> str:
    """Return the interval of the client's place, under the words that it may cross."""
    d = range_path(curve, mix) if mix else "M0 0"
    return f'<path data-range="" d="{d}" stroke="{PAPER}" stroke-width="3"/>'


def _chosen(curve: Curve, mix: Mix | None) -> str:
    """Return the client's place; hidden until there is one."""
    hidden = "" if mix else ' visibility="hidden"'
    mix = mix or Mix(0.0, 0.0, BOOTH, BOOTH)
    x, y = curve.x(mix.warmth), curve.y(mix.deeper)
    return (
        f'<g data-chosen=""{hidden}>'
        f'<g data-mark="" transform="translate({x:.1f} {y:.1f})">'
        f'<circle r="20" fill="{PAPER}" stroke="{INK}" stroke-width="3"/>'
        f'<circle data-colour="" r="14" fill="{escape(mix.hex)}"/>'
        f'<path d="M-31 0l7-7v14ZM31 0l-7-7v14Z" fill="{INK}"/></g></g>'
    )


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
