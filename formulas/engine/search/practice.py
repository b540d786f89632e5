"""Practice: which of all mixes a colourist would mix, by the owner's own limits.

Every mix is searched; what is offered keeps to these. Common practice, no source: tone on the
level, clear as a helper and not as the main part, portions that a scale can weigh.
"""

from dataclasses import dataclass, replace

from formulas.engine import checks
from formulas.engine.toner.lines import Line
from formulas.engine.toner.shades import Shade
from formulas.engine.toner.zone import Zone

# From this share of white fibres on, shades are chosen around the wanted level.
WHITE_PERCENT = 30.0
MOST_LEVEL = 10.0


@dataclass(frozen=True)
class Practice:
    """Limits within which mixes are offered.

    Attributes
    ----------
    levels_below, levels_above : float
        Coloured shades from so far below the lifted level to so far above it, 0 to 9. [level]
    most_clear : float
        Largest share of clear in the colour, 0 to 1. [unitless]
    most_shades : int
        1 to 4. [count]
    smallest_grams : float
        Smallest portion of one shade that the scale weighs well, 0 to 50. [g]
    simple_first : bool
        Whether the simpler ratio leads among mixes that forgive alike.

    Raises
    ------
    ValueError
        If a number is out of range.
    """

    levels_below: float = 2.0
    levels_above: float = 1.0
    most_clear: float = 0.5
    most_shades: int = 3
    smallest_grams: float = 2.0
    simple_first: bool = True

    def __post_init__(self) -> None:
        for name in ("levels_below", "levels_above"):
            checks.number(getattr(self, name), name=name, unit="level", low=0, high=9)
        checks.number(self.most_clear, name="most_clear", unit="share", low=0, high=1)
        checks.whole(self.most_shades, name="most_shades", low=1, high=4)
        checks.number(self.smallest_grams, name="smallest_grams", unit="g", low=0, high=50)

    def around(
        self, zone: Zone, wanted_level: float | None, looks_level: float | None = None
    ) -> float:
        """Return the level around which shades are chosen: the lifted one.

        Where much is white it is the wanted one, and without a wish the one that it looks like.
        """
        if zone.white_percent < WHITE_PERCENT:
            return zone.lifted_level
        level = looks_level if wanted_level is None else wanted_level
        return zone.lifted_level if level is None else min(level, MOST_LEVEL)

    def allows(self, shade: Shade, level: float, wanted_level: float | None = None) -> bool:
        """Return whether a shade is used around a level; a wish for depth reaches down to it.

        A measured swatch without a level, and clear, are always allowed.
        """
        if shade.level is None:
            return True
        lowest = level - self.levels_below
        if wanted_level is not None:
            lowest = min(lowest, wanted_level)
        return lowest <= shade.level <= level + self.levels_above

    def line(
        self,
        line: Line,
        zone: Zone,
        wanted_level: float | None = None,
        looks_level: float | None = None,
    ) -> Line | None:
        """Return the line's shades within practice; None where none has pigment.

        `looks_level` is the level that the zone looks like before toning, where it is known.
        """
        level = self.around(zone, wanted_level, looks_level)
        kept = tuple(s for s in line.shades if self.allows(s, level, wanted_level))
        if all(shade.is_clear for shade in kept):
            return None
        return replace(line, shades=kept)

    def most_parts(self, colour_grams: float, most: int) -> int:
        """Return how many parts a bowl may have so that one part can still be weighed."""
        if self.smallest_grams <= 0:
            return most
        return max(1, min(most, int(colour_grams / self.smallest_grams + 1e-9)))
