"""A client's tones through time: strands above depth and warmth, on one time axis.

Takes plain values. Paper and ink follow the theme by the classes of `tones.css`; the strip of
strands is the grey booth in both.
"""

import datetime as dt
from collections.abc import Sequence
from itertools import pairwise
from statistics import fmean, median

from django.utils.formats import date_format, number_format
from django.utils.html import escape
from django.utils.translation import gettext as _

from salon.drawing.strand import HEIGHT as LOCK_HEIGHT
from salon.drawing.strand import WIDTH as LOCK_WIDTH
from salon.drawing.strand import hairs, silhouette
from salon.drawing.time_line import Line, Mark, Moment, Picture, label

WIDTH, LEFT, RIGHT = 900.0, 46.0, 882.0
STRIP, PANEL, GAP, AXIS = 92.0, 150.0, 18.0, 44.0
WIDEST, NARROWEST = 78.0, 21.0
# A label of a date or of weeks needs so much room.
LABEL = 60.0


def through_time_svg(picture: Picture) -> str:
    """Return the whole picture as `<svg>`; empty where there is no visit."""
    moments = picture.moments
    if not moments:
        return ""
    scale = _Scale(picture)
    x = [scale.x(moment.day) for moment in moments]
    depth_top = STRIP + GAP
    warmth_top = depth_top + PANEL + GAP
    bottom = warmth_top + PANEL
    depth = _Panel(
        depth_top, [m.depth for m in moments], name=_("Depth"),
        unit=_("level, as dark as natural hair"), step=1.0, places=0, least=2.0,
    )  # fmt: skip
    warmth = _Panel(
        warmth_top, [m.warmth for m in moments], name=_("Warmth left"),
        unit=_("% of the lightened hair’s") if picture.shows_percent else "",
        step=20.0, places=0, least=40.0, below_zero=_("ashy"),
        shows_numbers=picture.shows_percent,
    )  # fmt: skip
    drawn = [
        _strip(picture, x),
        depth.frame(),
        warmth.frame(),
        depth.marks(moments, x, scale),
        warmth.marks(moments, x, scale),
        depth.runs(picture.depth_runs, x),
        warmth.runs(picture.warmth_runs, x),
        _corrections(moments, x),
        _axis(moments, x, bottom),
        _due(picture, scale, depth_top, bottom),
        _presses(moments, x, bottom),
    ]
    height = bottom + AXIS
    return (
        f'<svg class="through-time" viewBox="0 0 {WIDTH:g} {height:g}" role="group"'
        f' aria-label="{escape(picture.title)}" fill="none" font-size="15.5">'
        f"{''.join(drawn)}</svg>"
    )


class _Scale:
    """Days to places across."""

    def __init__(self, picture: Picture) -> None:
        days = [moment.day for moment in picture.moments]
        ends = [day for day in (picture.due, picture.until) if day]
        self.first = min(days)
        self.last = max([*days, *ends, self.first + dt.timedelta(days=42)])
        self.left, self.right = LEFT + 34, RIGHT - 30

    def x(self, day: dt.date) -> float:
        return self.after(day, 0.0)

    def after(self, day: dt.date, days: float) -> float:
        share = ((day - self.first).days + days) / (self.last - self.first).days
        return self.left + share * (self.right - self.left)


class _Panel:
    """One number's field with its scale."""

    def __init__(
        self, top: float, marks: Sequence[Mark], *, name: str, unit: str,
        step: float, places: int, least: float, below_zero: str = "",
        shows_numbers: bool = True,
    ) -> None:  # fmt: skip
        self.top, self.name, self.unit, self.numbers = top, name, unit, marks
        self.below_zero, self.shows_numbers = below_zero, shows_numbers
        self.step, self.places = step, places
        every = [v for m in marks for v in (m.low, m.high, m.promised)]
        every += [m.seen for m in marks if m.seen is not None]
        every += [value for m in marks for _day, value in m.fading]
        low, high = min(every), max(every)
        more = max(0.0, least - (high - low)) / 2
        self.low = step * ((low - more) // step)
        self.high = step * -(-(high + more) // step)
        while (self.high - self.low) / self.step > 6:
            self.step *= 2

    def y(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return self.top + PANEL - 10 - share * (PANEL - 38)

    def frame(self) -> str:
        count = int((self.high - self.low) / self.step + 1e-6)
        values = [self.low + self.step * n for n in range(count + 1)]
        rules = "".join(
            f'<path class="tt-rule" d="M{LEFT:g} {self.y(v):.1f}H{RIGHT:g}"/>'
            + label(LEFT - 8, self.y(v) + 5, self._words(v), "end", "tt-soft")
            for v in values
        )
        head = (
            f'<text x="8" y="{self.top + 17:g}" class="tt-ink"><tspan font-weight="650">'
            f'{escape(self.name)}</tspan><tspan dx="8" class="tt-soft">{escape(self.unit)}'
            "</tspan></text>"
        )
        return (
            f'<rect class="tt-sheet" x="0" y="{self.top:g}" width="{WIDTH:g}"'
            f' height="{PANEL:g}"/>'
            f'<path class="tt-head" d="M0 {self.top:g}H{WIDTH:g}"/>{rules}{head}'
        )

    def _words(self, value: float) -> str:
        """Return a step of the scale; below zero in words where the number would say little."""
        if value < 0 and self.below_zero:
            return self.below_zero
        return number_format(value + 0.0, self.places) if self.shows_numbers else ""

    def marks(self, moments: Sequence[Moment], x: Sequence[float], scale: _Scale) -> str:
        boxes, lines, dots = [], [], []
        half = min(11.0, max(4.0, min([b - a for a, b in pairwise(x) if b > a] or [22]) / 2.6))
        for mark, moment, at in zip(self.numbers, moments, x, strict=True):
            top, low = self.y(mark.high), self.y(mark.low)
            boxes.append(
                f'<rect class="tt-range" x="{at - half:.1f}" y="{top:.1f}"'
                f' width="{2 * half:.1f}" height="{max(low - top, 1):.1f}"/>'
                f'<path class="tt-promised" d="M{at - half:.1f} {self.y(mark.promised):.1f}'
                f'h{2 * half:.1f}"/>'
            )
            if mark.fading:
                points = "L".join(
                    f"{scale.after(moment.day, days):.1f} {self.y(value):.1f}"
                    for days, value in mark.fading
                )
                lines.append(f'<path class="tt-fading" d="M{points}"/>')
            if mark.seen is not None:
                kind = "tt-seen" if mark.is_within else "tt-seen tt-seen--outside"
                dots.append(
                    f'<circle class="{kind}" cx="{at:.1f}" cy="{self.y(mark.seen):.1f}"'
                    f' r="{6 if half > 6 else 4.5:g}"/>'
                )
        return "".join([*boxes, *lines, *dots])

    def runs(self, runs: Sequence[Line], x: Sequence[float]) -> str:
        return "".join(
            f'<path class="tt-run" d="M{x[run.first] - 12:.1f} {self.y(run.at_first):.1f}'
            f'L{x[run.last] + 12:.1f} {self.y(run.at_last):.1f}"/>'
            for run in runs
        )


def _strip(picture: Picture, x: Sequence[float]) -> str:
    """Return three locks of each visit in the booth: start, promised, seen."""
    moments = picture.moments
    count = len(moments)
    gaps = [after - before for before, after in pairwise(x)] or [WIDEST]
    room = min(median(gaps), (RIGHT - LEFT) / count) - 5
    width = min(WIDEST, max(NARROWEST, room))
    places = _apart(x, width + 5)
    lock = width / 3
    tall = min(74.0, max(54.0, lock * LOCK_HEIGHT / LOCK_WIDTH * 1.35))
    hair = f"hairs-{picture.key}"
    strokes = "".join(
        f'<path d="{s.d}" stroke="{"#fff" if s.shift > 0 else "#000"}"'
        f' stroke-opacity="{min(0.5, abs(s.shift) / 40):.2f}" stroke-width="{s.width:g}"/>'
        for s in hairs(14, damp=False, seed=7)
    )
    outline = silhouette(damp=False)
    drawn = [
        f'<rect class="tt-booth" width="{WIDTH:g}" height="{STRIP:g}"/>'
        f'<defs><g id="{hair}">{strokes}</g></defs>'
    ]
    for moment, at, middle in zip(moments, x, places, strict=True):
        colours = (moment.start_hex, moment.promised_hex, moment.seen_hex)
        for n, colour in enumerate(colours):
            left = middle - width / 2 + n * lock
            box = (
                f'<svg x="{left:.1f}" y="8" width="{lock:.1f}" height="{tall:.1f}"'
                f' viewBox="0 0 {LOCK_WIDTH:g} {LOCK_HEIGHT:g}" preserveAspectRatio="none">'
            )
            if colour:
                drawn.append(
                    f'{box}<path fill="{escape(colour)}" d="{outline}"/>'
                    f'<use href="#{hair}"/></svg>'
                )
            else:
                drawn.append(
                    f'{box}<path stroke="#0e0e0e" stroke-width="3" stroke-dasharray="8 8"'
                    f' d="{outline}"/></svg>'
                )
        drawn.append(
            f'<path class="tt-lead" d="M{middle:.1f} {tall + 10:.1f}L{at:.1f} {STRIP:g}"/>'
            if abs(middle - at) > 3
            else ""
        )
    return "".join(drawn)


def _apart(x: Sequence[float], least: float) -> list[float]:
    """Return the places moved apart to `least`, each as near to its own as all allow.

    Isotonic regression of x - n * least by pooling neighbours, then kept within the picture.
    """
    blocks: list[list[float]] = []
    for n, at in enumerate(x):
        blocks.append([at - n * least])
        while len(blocks) > 1 and fmean(blocks[-2]) > fmean(blocks[-1]):
            blocks[-2:] = [blocks[-2] + blocks[-1]]
    found = [fmean(block) for block in blocks for _member in block]
    found = [place + n * least for n, place in enumerate(found)]
    limit = WIDTH - least / 2
    for n in range(len(found) - 1, -1, -1):
        found[n] = min(found[n], limit - (len(found) - 1 - n) * least)
    return [max(place, least / 2 + n * least) for n, place in enumerate(found)]


def _corrections(moments: Sequence[Moment], x: Sequence[float]) -> str:
    """Return arrows from a visit to the one that redid it, under the strip."""
    drawn = []
    y = STRIP + GAP / 2
    for moment, at in zip(moments, x, strict=True):
        if moment.corrects is None:
            continue
        start = x[moment.corrects]
        drawn.append(
            f'<path class="tt-redo" d="M{start:.1f} {y:.1f}H{at - 3:.1f}m-5 -4l5 4l-5 4"/>'
            f'<circle class="tt-redo-dot" cx="{start:.1f}" cy="{y:.1f}" r="3"/>'
            + label(at + 5, y + 5, _("redone"), "start", "tt-ink")
        )
    return "".join(drawn)


def _axis(moments: Sequence[Moment], x: Sequence[float], bottom: float) -> str:
    """Return dates below the fields, years once, and the weeks between visits to scale."""
    drawn, shown, year = [], -LABEL, 0
    for moment, at in zip(moments, x, strict=True):
        drawn.append(f'<path class="tt-ink-line" d="M{at:.1f} {bottom:g}v5"/>')
        if at - shown < LABEL:
            continue
        words = date_format(moment.day, _("j M"))
        if moment.day.year != year:
            words = date_format(moment.day, _("j M Y"))
            year = moment.day.year
        drawn.append(label(at, bottom + 20, words, "middle", "tt-ink"))
        shown = at + (18 if str(year) in words else 0)
    for (before, start), (after, end) in pairwise(zip(moments, x, strict=True)):
        weeks = round((after.day - before.day).days / 7)
        if end - start >= 42 and weeks:
            words = _("%(n)s wk") % {"n": weeks}
            middle = (start + end) / 2
            drawn.append(label(middle, bottom + 38, words, "middle", "tt-soft"))
            drawn.append(
                f'<path class="tt-rule" d="M{start + 4:.1f} {bottom + 33:g}'
                f'H{middle - 22:.1f}M{middle + 22:.1f} {bottom + 33:g}H{end - 4:.1f}"/>'
                if end - start > 60
                else ""
            )
    return "".join(drawn)


def _due(picture: Picture, scale: _Scale, top: float, bottom: float) -> str:
    if picture.due is None:
        return ""
    at = scale.x(picture.due)
    words = label(at - 6, top + 17, _("due"), "end", "tt-accent")
    return f'<path class="tt-due" d="M{at:.1f} {top:g}V{bottom:g}"/>{words}'


def _presses(moments: Sequence[Moment], x: Sequence[float], bottom: float) -> str:
    """Return a link over each visit's column: read by pointing, by keyboard, aloud."""
    edges = [0.0, *((a + b) / 2 for a, b in pairwise(x)), WIDTH]
    return "".join(
        f'<a class="tt-press" href="{escape(moment.href)}" aria-label="{escape(moment.title)}">'
        f'<title>{escape(moment.title)}</title><rect x="{max(left, at - 40):.1f}" y="0"'
        f' width="{max(min(right, at + 40) - max(left, at - 40), 4):.1f}"'
        f' height="{bottom:g}"/></a>'
        for moment, at, (left, right) in zip(moments, x, pairwise(edges), strict=True)
    )
