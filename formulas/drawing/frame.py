"""A plain plot: a field in the grey booth, scales, ticks, lines told apart by their dashes.

Greys are fixed attributes, so that a plot looks alike in both themes and prints as it is.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.formats import number_format
from django.utils.html import escape

INK, PAPER, FIELD, MID = "#0e0e0e", "#f6f6f6", "#ababab", "#3e3e3e"
DASHES = ("", "11 5", "2 5", "12 4 2 4", "5 3")


@dataclass(frozen=True)
class Frame:
    """Where data lies on the drawing; y grows upwards unless `down`."""

    x_low: float
    x_high: float
    y_low: float
    y_high: float
    width: float = 460.0
    height: float = 350.0
    left: float = 46.0
    right: float = 446.0
    top: float = 62.0
    bottom: float = 272.0
    down: bool = False

    def x(self, value: float) -> float:
        """Return the place across."""
        share = (value - self.x_low) / (self.x_high - self.x_low)
        return self.left + share * (self.right - self.left)

    def y(self, value: float) -> float:
        """Return the place down, kept inside the field."""
        share = (value - self.y_low) / (self.y_high - self.y_low)
        share = min(1.0, max(0.0, share))
        return (
            self.top + share * (self.bottom - self.top)
            if self.down
            else self.bottom - share * (self.bottom - self.top)
        )

    def svg(self, inner: str, *, title: str) -> str:
        """Return the whole drawing around `inner`; `title` is read by screen readers."""
        return (
            f'<svg class="plot" viewBox="0 0 {self.width:g} {self.height:g}" role="img"'
            f' aria-label="{escape(title)}" fill="none" font-size="15">'
            f'<rect x="{self.left:g}" y="{self.top:g}" width="{self.right - self.left:g}"'
            f' height="{self.bottom - self.top:g}" fill="{FIELD}"/>{inner}</svg>'
        )

    def x_axis(self, ticks: Iterable[tuple[float, str]], *, name: str) -> str:
        """Return ticks below the field and what they measure."""
        drawn = [
            f'<path d="M{self.x(at):.1f} {self.bottom:g}v6" stroke="{INK}"/>'
            + text(self.x(at), self.bottom + 22, words, anchor="middle")
            for at, words in ticks
        ]
        return "".join(drawn) + text(
            (self.left + self.right) / 2, self.height - 10, name, anchor="middle", bold=True
        )

    def y_axis(self, ticks: Iterable[tuple[float, str]]) -> str:
        """Return ticks at the start of the field with faint rules across it."""
        return "".join(
            f'<path d="M{self.left - 6:g} {self.y(at):.1f}H{self.left:g}" stroke="{INK}"/>'
            f'<path d="M{self.left:g} {self.y(at):.1f}H{self.right:g}" stroke="{MID}"'
            ' stroke-width="0.6" stroke-dasharray="2 5"/>'
            + text(self.left - 10, self.y(at) + 5, words, anchor="end")
            for at, words in ticks
        )

    def line(self, points: Sequence[tuple[float, float]], *, dash: str, width: float) -> str:
        """Return a line through data points."""
        d = "M" + "L".join(f"{self.x(x):.1f} {self.y(y):.1f}" for x, y in points)
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        return (
            f'<path d="{d}" stroke="{INK}" stroke-width="{width:g}"{dashes}'
            ' stroke-linejoin="round"/>'
        )

    def key(self, entries: Sequence[tuple[str, str, float]]) -> str:
        """Return the key above the field: (words, dash, width) for each line, in rows."""
        drawn, x, y = [], self.left, 18.0
        for words, dash, width in entries:
            need = 46 + 7.6 * len(words)
            if x > self.left and x + need > self.right + 10:
                x, y = self.left, y + 22
            dashes = f' stroke-dasharray="{dash}"' if dash else ""
            sample = f'd="M{x:.0f} {y:.0f}h28" stroke-width="{width:g}"{dashes}'
            drawn.append(f'<path {sample} stroke="{INK}"/>' + text(x + 35, y + 5, words))
            x += need + 12
        return "".join(drawn)


def text(x: float, y: float, words: str, *, anchor: str = "start", bold: bool = False) -> str:
    """Return words at a place."""
    weight = ' font-weight="650"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{INK}"{weight}>'
        f"{escape(words)}</text>"
    )


def ticks(low: float, high: float, step: float, *, places: int = 0) -> list[tuple[float, str]]:
    """Return values from `low` to `high` with their words in the reader's own digits."""
    count = round((high - low) / step)
    values = [low + step * n for n in range(count + 1)]
    return [
        (v, number_format(round(v, places) + 0.0, places).replace("-", "−")) for v in values
    ]
