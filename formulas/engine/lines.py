"""Lines of shades, and the two invented ones that the demo uses."""

import csv
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

from formulas.engine import checks
from formulas.engine.shades import Shade

KINDS = ("acidic", "alkaline")


@dataclass(frozen=True)
class Line:
    """A line of shades with its own recipe.

    Attributes
    ----------
    name : str
    kind : str
        "acidic" or "alkaline" (demi-permanent).
    shades : tuple of Shade
    developer_ratio : float
        Parts of developer to one part of colour. [unitless]
    processing_minutes : float
        The line's own time. [min]
    developer_percent : float
        Peroxide in the developer. [%]
    """

    name: str
    kind: str
    shades: tuple[Shade, ...]
    developer_ratio: float = 1.5
    processing_minutes: float = 20.0
    developer_percent: float = 1.9

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(
                f"kind of {self.name}: {self.kind!r} is none of {', '.join(KINDS)}"
            )
        if not self.shades:
            raise ValueError(f"shades of {self.name}: a line needs at least one shade")
        repeated = [n for n, k in Counter(s.name for s in self.shades).items() if k > 1]
        if repeated:
            raise ValueError(f"shades of {self.name}: {repeated[0]!r} stands there twice")
        checks.number(
            self.developer_ratio, name="developer_ratio", unit="parts", low=0.1, high=5
        )
        checks.number(
            self.processing_minutes, name="processing_minutes", unit="min", low=1, high=90
        )
        checks.number(
            self.developer_percent, name="developer_percent", unit="%", low=0, high=12
        )

    @property
    def names(self) -> tuple[str, ...]:
        """The shades' names, in the line's order."""
        return tuple(shade.name for shade in self.shades)

    def shade(self, name: str) -> Shade:
        """Return the shade with this name, or raise ValueError that lists those it has."""
        for shade in self.shades:
            if shade.name == name:
                return shade
        raise ValueError(f"{self.name} has no shade {name!r}; it has {', '.join(self.names)}")


@cache
def demo_lines() -> Mapping[str, Line]:
    """Return the two invented lines by name (data/demo_lines.csv, data/demo_shades.csv)."""
    folder = resources.files("formulas.engine").joinpath("data")
    shades: dict[str, list[Shade]] = {}
    for row in csv.DictReader(folder.joinpath("demo_shades.csv").read_text().splitlines()):
        shades.setdefault(row["line"], []).append(Shade.from_words(row["shade"]))
    return {
        row["name"]: Line(
            name=row["name"],
            kind=row["kind"],
            shades=tuple(shades[row["name"]]),
            developer_ratio=float(row["developer_ratio"]),
            processing_minutes=float(row["processing_minutes"]),
            developer_percent=float(row["developer_percent"]),
        )
        for row in csv.DictReader(folder.joinpath("demo_lines.csv").read_text().splitlines())
    }
