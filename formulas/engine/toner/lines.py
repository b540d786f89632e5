"""Lines of shades, and the two invented ones that the demo uses."""

import csv
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources

from formulas.engine import checks
from formulas.engine.checks import EngineRefusal
from formulas.engine.toner.pigments import tone_amounts
from formulas.engine.toner.shades import Shade

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
        if not str(self.name).strip():
            text = f"name of a line must not be empty, given {self.name!r}"
            raise EngineRefusal("no_name", text)
        checks.one_of(self.kind, KINDS, name=f"kind of {self.name}")
        if not self.shades:
            text = f"shades of {self.name} [count]: a line needs at least one, given none"
            raise EngineRefusal("no_shade_in_use", text)
        count = Counter(shade.name for shade in self.shades)
        repeated = [name for name, times in count.items() if times > 1]
        if repeated:
            raise ValueError(
                f"shades of {self.name}: every name may stand there once, "
                f"given twice: {repeated[0]!r}"
            )
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
        """Return the shade with this name, or raise ValueError that lists those it has.

        Capitals and spaces do not matter; strength and tone may stand in any order.
        """
        exact = {shade.name: shade for shade in self.shades}
        if name in exact:
            return exact[name]
        for alike in (_folded, _as_words):
            wanted = alike(name)
            for shade in self.shades:
                if wanted is not None and alike(shade.name) == wanted:
                    return shade
        text = f"parts: {self.name} has no shade {name!r}; it has {', '.join(self.names)}"
        raise EngineRefusal("no_such_shade", text, name=str(name))

    def resolved(self, parts: Mapping[str, float]) -> dict[str, float]:
        """Return parts by the line's own names; a shade named twice gets both.

        Raises
        ------
        ValueError
            If a name is unknown, a part is not positive, or there are none.
        """
        if not parts:
            text = "parts [parts] must name at least one shade, given none"
            raise EngineRefusal("no_parts", text)
        found: dict[str, float] = {}
        for name, part in parts.items():
            own = self.shade(name).name
            value = checks.number(
                part, name=f"parts of {name}", unit="parts", low=1e-6, high=1e6
            )
            found[own] = found.get(own, 0.0) + value
        return found


def _folded(name: str) -> str:
    return " ".join(str(name).casefold().split())


def _as_words(name: str) -> tuple[object, ...] | None:
    """Return what plain words say, however they are put; None where they say nothing known."""
    try:
        shade = Shade.from_words(name)
    except ValueError:
        return None
    return shade.level, tuple(sorted(shade.tones.items()))


def with_background(shades: Iterable[Shade], tone: str) -> tuple[Shade, ...]:
    """Return shades whose naturals carry a soft background tone, as their line says.

    Parameters
    ----------
    shades : iterable of Shade
    tone : str
        In words, such as "soft violet-blue"; "natural" for none.

    Raises
    ------
    ValueError
        If a word of the tone is not known.
    """
    background = tone_amounts(tone)
    return tuple(
        shade if shade.is_clear or shade.tones or shade.reflectance is not None
        else replace(shade, tones=background)
        for shade in shades
    )  # fmt: skip


@cache
def demo_lines() -> Mapping[str, Line]:
    """Return the two invented lines by name (data/demo_lines.csv, data/demo_shades.csv)."""
    folder = resources.files("formulas.engine").joinpath("data")
    shades: dict[str, list[Shade]] = {}
    for row in csv.DictReader(
        folder.joinpath("demo_shades.csv").read_text("utf-8").splitlines()
    ):
        shades.setdefault(row["line"], []).append(Shade.from_words(row["shade"]))
    return {
        row["name"]: Line(
            name=row["name"],
            kind=row["kind"],
            shades=with_background(shades[row["name"]], row["natural_background"]),
            developer_ratio=float(row["developer_ratio"]),
            processing_minutes=float(row["processing_minutes"]),
            developer_percent=float(row["developer_percent"]),
        )
        for row in csv.DictReader(
            folder.joinpath("demo_lines.csv").read_text("utf-8").splitlines()
        )
    }
