"""A client's tones through time: strands above depth and warmth, on one time axis.

Takes plain values. Paper and ink follow the theme by the classes of `tones.css`; the strip of
strands is the grey booth in both.
"""

import datetime as dt
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from statistics import fmean, median

from django.utils.formats import date_format, number_format
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from consult.drawing.time_line import Line, Mark, Moment, Picture
from consult.drawing.time_shapes import Field, Foot, Lock, Press, Range, Redone, Seen, Strip
from salon.drawing.markup import Text, drawing, text
from salon.drawing.strand import HEIGHT as LOCK_HEIGHT
from salon.drawing.strand import WIDTH as LOCK_WIDTH
from salon.drawing.strand import hairs, silhouette

WIDTH, LEFT, RIGHT = 900.0, 46.0, 882.0
STRIP, PANEL, GAP, AXIS = 92.0, 150.0, 18.0, 44.0
WIDEST, NARROWEST = 78.0, 21.0
# A label of a date or of weeks needs so much room.
LABEL = 60.0


def through_time_svg(picture: Picture, *, on_paper: bool = False) -> SafeString | str:
    """Return the whole picture as `<svg>`; empty where there is no visit.

    On paper it brings its own styles, since a sheet's do not reach into it, and leads nowhere.
    """
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
    return drawing(
        "through_time",
        box=f"0 0 {WIDTH:g} {bottom + AXIS:g}",
        title=picture.title,
        key=picture.key,
        strip=_strip(picture, x),
        fields=[
            depth.drawn(moments, x, scale, picture.depth_runs),
            warmth.drawn(moments, x, scale, picture.warmth_runs),
        ],
        redone=_redone(moments, x),
        foot=_foot(moments, x, bottom),
        top=f"{depth_top:g}",
        bottom=f"{bottom:g}",
        due=_due(picture, scale, depth_top),
        presses=[] if on_paper else _presses(moments, x),
        on_paper=on_paper,
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

    def drawn(
        self,
        moments: Sequence[Moment],
        x: Sequence[float],
        scale: _Scale,
        runs: Sequence[Line],
    ) -> Field:
        count = int((self.high - self.low) / self.step + 1e-6)
        values = [self.low + self.step * n for n in range(count + 1)]
        half = min(11.0, max(4.0, min([b - a for a, b in pairwise(x) if b > a] or [22]) / 2.6))
        marked = list(zip(self.numbers, moments, x, strict=True))
        return Field(
            top=f"{self.top:g}",
            name_y=f"{self.top + 17:g}",
            name=self.name,
            unit=self.unit,
            rules=tuple(
                (
                    f"{self.y(v):.1f}",
                    text(LEFT - 8, self.y(v) + 5, self._words(v), anchor="end"),
                )
                for v in values
            ),
            ranges=tuple(self._range(mark, at, half) for mark, _moment, at in marked),
            fading=tuple(
                self._fading(mark, moment, scale) for mark, moment, _at in marked if mark.fading
            ),
            seen=tuple(
                self._seen(mark, mark.seen, at, half)
                for mark, _moment, at in marked
                if mark.seen is not None
            ),
            runs=tuple(
                f"M{x[run.first] - 12:.1f} {self.y(run.at_first):.1f}"
                f"L{x[run.last] + 12:.1f} {self.y(run.at_last):.1f}"
                for run in runs
            ),
        )

    def _words(self, value: float) -> str:
        """Return a step of the scale; below zero in words where the number would say little."""
        if value < 0 and self.below_zero:
            return self.below_zero
        return number_format(value + 0.0, self.places) if self.shows_numbers else ""

    def _range(self, mark: Mark, at: float, half: float) -> Range:
        top, low = self.y(mark.high), self.y(mark.low)
        return Range(
            x=f"{at - half:.1f}",
            y=f"{top:.1f}",
            width=f"{2 * half:.1f}",
            height=f"{max(low - top, 1):.1f}",
            promised=f"{self.y(mark.promised):.1f}",
        )

    def _fading(self, mark: Mark, moment: Moment, scale: _Scale) -> str:
        return "M" + "L".join(
            f"{scale.after(moment.day, days):.1f} {self.y(value):.1f}"
            for days, value in mark.fading
        )

    def _seen(self, mark: Mark, seen: float, at: float, half: float) -> Seen:
        radius = "6" if half > 6 else "4.5"
        return Seen(f"{at:.1f}", f"{self.y(seen):.1f}", radius, not mark.is_within)


def _strip(picture: Picture, x: Sequence[float]) -> Strip:
    """Return three locks of each visit in the booth: start, promised, seen."""
    moments = picture.moments
    gaps = [after - before for before, after in pairwise(x)] or [WIDEST]
    room = min(median(gaps), (RIGHT - LEFT) / len(moments)) - 5
    width = min(WIDEST, max(NARROWEST, room))
    lock = width / 3
    tall = min(74.0, max(54.0, lock * LOCK_HEIGHT / LOCK_WIDTH * 1.35))
    visits = []
    for moment, at, middle in zip(moments, x, _apart(x, width + 5), strict=True):
        colours = (moment.start_hex, moment.promised_hex, moment.seen_hex)
        locks = tuple(
            Lock(f"{middle - width / 2 + n * lock:.1f}", colour)
            for n, colour in enumerate(colours)
        )
        lead = f"M{middle:.1f} {tall + 10:.1f}L{at:.1f} {STRIP:g}"
        visits.append((locks, lead if abs(middle - at) > 3 else ""))
    return Strip(f"{lock:.1f}", f"{tall:.1f}", silhouette(damp=False), _hairs(), tuple(visits))


@lru_cache(maxsize=1)
def _hairs() -> tuple[tuple[str, str, str, str], ...]:
    return tuple(
        (
            s.d,
            "#fff" if s.shift > 0 else "#000",
            f"{min(0.5, abs(s.shift) / 40):.2f}",
            f"{s.width:g}",
        )
        for s in hairs(14, damp=False, seed=7)
    )


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


def _redone(moments: Sequence[Moment], x: Sequence[float]) -> list[Redone]:
    """Return arrows from a visit to the one that redid it, under the strip."""
    y = STRIP + GAP / 2
    return [
        Redone(
            d=f"M{x[moment.corrects]:.1f} {y:.1f}H{at - 3:.1f}m-5 -4l5 4l-5 4",
            x=f"{x[moment.corrects]:.1f}",
            y=f"{y:.1f}",
            words=text(at + 5, y + 5, _("redone")),
        )
        for moment, at in zip(moments, x, strict=True)
        if moment.corrects is not None
    ]


def _foot(moments: Sequence[Moment], x: Sequence[float], bottom: float) -> Foot:
    dates, shown, year = [], -LABEL, 0
    for moment, at in zip(moments, x, strict=True):
        if at - shown < LABEL:
            continue
        words = date_format(moment.day, _("j M"))
        if moment.day.year != year:
            words = date_format(moment.day, _("j M Y"))
            year = moment.day.year
        dates.append(text(at, bottom + 20, words, anchor="middle"))
        shown = at + (18 if str(year) in words else 0)
    return Foot(tuple(f"{at:.1f}" for at in x), tuple(dates), _weeks(moments, x, bottom))


def _weeks(
    moments: Sequence[Moment], x: Sequence[float], bottom: float
) -> tuple[tuple[Text, str], ...]:
    """Return the weeks between two visits where there is room for them."""
    found = []
    for (before, start), (after, end) in pairwise(zip(moments, x, strict=True)):
        weeks = round((after.day - before.day).days / 7)
        if end - start < 42 or not weeks:
            continue
        middle, y = (start + end) / 2, bottom + 33
        rules = (
            f"M{start + 4:.1f} {y:g}H{middle - 22:.1f}M{middle + 22:.1f} {y:g}H{end - 4:.1f}"
        )
        words = text(middle, bottom + 38, _("%(n)s wk") % {"n": weeks}, anchor="middle")
        found.append((words, rules if end - start > 60 else ""))
    return tuple(found)


def _due(picture: Picture, scale: _Scale, top: float) -> tuple[str, Text] | None:
    if picture.due is None:
        return None
    at = scale.x(picture.due)
    return f"{at:.1f}", text(at - 6, top + 17, _("due"), anchor="end")


def _presses(moments: Sequence[Moment], x: Sequence[float]) -> list[Press]:
    edges = [0.0, *((a + b) / 2 for a, b in pairwise(x)), WIDTH]
    presses = []
    for moment, at, (left, right) in zip(moments, x, pairwise(edges), strict=True):
        start, end = max(left, at - 40), min(right, at + 40)
        width = max(end - start, 4)
        presses.append(Press(moment.href, moment.title, f"{start:.1f}", f"{width:.1f}"))
    return presses
