"""A plain plot: a field in the grey booth, scales, ticks, lines told apart by their dashes.

Greys are fixed attributes, so that a plot looks alike in both themes and prints as it is.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.formats import number_format
from django.utils.safestring import SafeString

from salon.drawing.markup import Text, drawing, path, text

DASHES = ("", "11 5", "2 5", "12 4 2 4", "5 3")


@dataclass(frozen=True)
class Line:
    """A path with its dashes and its width."""

    d: str
    dash: str
    width: str


@dataclass(frozen=True)
class Tick:
    """A value on a scale: where, and its words."""

    at: str
    text: Text


@dataclass(frozen=True)
class Axis:
    """A scale below or beside the field; below it also what it measures."""

    ticks: tuple[Tick, ...]
    name: Text | None = None


@dataclass(frozen=True)
class KeyEntry:
    """The meaning of a line: a sample of it and words."""

    sample: Line
    text: Text


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

    def drawing(self, name: str, *, title: str, **values: object) -> SafeString:
        """Return the drawing of that name; `title` is read by screen readers."""
        edges = {
            "left": f"{self.left:g}",
            "right": f"{self.right:g}",
            "bottom": f"{self.bottom:g}",
            "start": f"{self.left - 6:g}",
        }
        field = {
            "x": f"{self.left:g}",
            "y": f"{self.top:g}",
            "width": f"{self.right - self.left:g}",
            "height": f"{self.bottom - self.top:g}",
        }
        box = f"0 0 {self.width:g} {self.height:g}"
        return drawing(name, title=title, box=box, field=field, edges=edges, **values)

    def x_axis(self, ticks: Iterable[tuple[float, str]], *, name: str) -> Axis:
        """Return ticks below the field and what they measure."""
        drawn = [
            Tick(
                f"{self.x(at):.1f}",
                text(self.x(at), self.bottom + 22, words, anchor="middle"),
            )
            for at, words in ticks
        ]
        middle = (self.left + self.right) / 2
        return Axis(
            tuple(drawn), text(middle, self.height - 10, name, anchor="middle", bold=True)
        )

    def y_axis(self, ticks: Iterable[tuple[float, str]]) -> Axis:
        """Return ticks at the start of the field, whose faint rules go across it."""
        return Axis(
            tuple(
                Tick(
                    f"{self.y(at):.1f}",
                    text(self.left - 10, self.y(at) + 5, words, anchor="end"),
                )
                for at, words in ticks
            )
        )

    def line(self, points: Sequence[tuple[float, float]], *, dash: str, width: float) -> Line:
        """Return a line through data points."""
        return Line(path((self.x(x), self.y(y)) for x, y in points), dash, f"{width:g}")

    def key(self, entries: Sequence[tuple[str, str, float]]) -> list[KeyEntry]:
        """Return the key above the field: (words, dash, width) for each line, in rows."""
        drawn, x, y = [], self.left, 18.0
        for words, dash, width in entries:
            need = 46 + 7.6 * len(words)
            if x > self.left and x + need > self.right + 10:
                x, y = self.left, y + 22
            sample = Line(f"M{x:.0f} {y:.0f}h28", dash, f"{width:g}")
            drawn.append(KeyEntry(sample, text(x + 35, y + 5, words)))
            x += need + 12
        return drawn


def ticks(low: float, high: float, step: float, *, places: int = 0) -> list[tuple[float, str]]:
    """Return values from `low` to `high` with their words in the reader's own digits."""
    count = round((high - low) / step)
    values = [low + step * n for n in range(count + 1)]
    return [
        (v, number_format(round(v, places) + 0.0, places).replace("-", "−")) for v in values
    ]
