"""What the trade knows of toning, as numbers that the engine must give.

Common practice, no source, but where a fact names one. Every line here is described in words,
as a salon describes its own.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from formulas.engine.cli.readings import (
    Value,
    less_warmth,
    minute_uptake,
    minute_warmth,
    opposes,
    own_level,
    quantity,
)

PRACTICE = "common practice, no source"
TEXTBOOK = (
    "Magtiza 2021, Hair Colour for Hairstylists: Level 2, BCcampus (CC BY 4.0), "
    "4.6 Formulating the Toner"
)
# How far a fact may be missed: readings by eye are no finer.
TOLERANCE: Mapping[str, float] = {"%": 5.0, "levels": 0.1, "degrees": 2.0, "a*b*": 0.5}


@dataclass(frozen=True)
class Fact:
    """One thing that the trade knows.

    Attributes
    ----------
    text : str
    unit : str
        "%" of warmth, "levels", "degrees" of hue or "a*b*".
    low, high : float
        The asked range.
    value : callable of (chart, kind of line) to float
    source : str
    """

    text: str
    unit: str
    low: float
    high: float
    value: Value
    source: str = PRACTICE

    def missed(self, value: float) -> float:
        """Return by how much a value lies outside the asked range; 0 within."""
        return max(self.low - value, value - self.high, 0.0)

    def holds(self, value: float) -> bool:
        """Return whether a value meets the fact within its unit's tolerance."""
        return self.missed(value) <= TOLERANCE[self.unit]


_ON_WHITE = ("9 violet", "8 violet-blue", "5 violet", "8 strong violet-blue", "7 natural")
TWO_TO_ONE = {"8 natural": 2.0, "8 strong violet-blue": 1.0}
BLUE_AND_NATURAL = {"5 blue": 1.0, "5 natural": 1.0}
_ANY = -1000.0

FACTS: tuple[Fact, ...] = (
    *(
        Fact(
            f"{words} on white hair: levels off its own",
            "levels",
            -0.3,
            0.3,
            partial(own_level, words),
        )
        for words in _ON_WHITE
    ),
    *(
        Fact(
            f"{level} natural on {level}: looks deeper",
            "levels",
            0.4,
            1.5,
            quantity("deeper", level, f"{level} natural"),
        )
        for level in (6, 7, 8, 9, 10)
    ),
    Fact(
        "8 violet-blue on 8: warmth left", "%", _ANY, 20, quantity("warmth", 8, "8 violet-blue")
    ),
    Fact(
        "8 violet-blue on 8: looks deeper",
        "levels",
        1.0,
        2.2,
        quantity("deeper", 8, "8 violet-blue"),
    ),
    Fact(
        "10 violet-blue on 8: warmth left",
        "%",
        50,
        100,
        quantity("warmth", 8, "10 violet-blue"),
    ),
    Fact(
        "7 violet-blue on 8: warmth left", "%", _ANY, 0, quantity("warmth", 8, "7 violet-blue")
    ),
    Fact("10 violet on 9: warmth left, much", "%", 40, 100, quantity("warmth", 9, "10 violet")),
    Fact("9 violet on 9: warmth left, little", "%", 0, 35, quantity("warmth", 9, "9 violet")),
    Fact("8 violet on 9: warmth left, none", "%", _ANY, 0, quantity("warmth", 9, "8 violet")),
    Fact("9 pearl on 10: looks deeper", "levels", 1.0, 2.0, quantity("deeper", 10, "9 pearl")),
    Fact(
        "9 violet on 10: looks deeper", "levels", 1.0, 2.0, quantity("deeper", 10, "9 violet")
    ),
    Fact("9 violet on 10: reads a level", "levels", 7.8, 11, quantity("level", 10, "9 violet")),
    Fact(
        "10 violet on 10: looks deeper", "levels", 0.0, 1.0, quantity("deeper", 10, "10 violet")
    ),
    Fact(
        "10 slight violet-blue on 7.5: warmth left",
        "%",
        70,
        100,
        quantity("warmth", 7.5, "10 slight violet-blue"),
    ),
    Fact(
        "10 slight violet-blue on 7.5: looks deeper",
        "levels",
        0.0,
        1.0,
        quantity("deeper", 7.5, "10 slight violet-blue"),
    ),
    Fact(
        "2 to 1 of 8 natural and strong violet-blue on 7.5: warmth left",
        "%",
        -20,
        35,
        quantity("warmth", 7.5, TWO_TO_ONE),
    ),
    Fact(
        "2 to 1 of 8 natural and strong violet-blue on 7.5: looks deeper",
        "levels",
        1.0,
        2.5,
        quantity("deeper", 7.5, TWO_TO_ONE),
    ),
    Fact(
        "5 blue and 5 natural on 5: warmth left, about half",
        "%",
        35,
        65,
        quantity("warmth", 5, BLUE_AND_NATURAL),
    ),
    Fact(
        "5 blue and 5 natural on 5: looks deeper",
        "levels",
        0.0,
        2.5,
        quantity("deeper", 5, BLUE_AND_NATURAL),
    ),
    Fact(
        "8 violet on 7: warmth left", "%", 33, 100, quantity("warmth", 7, "8 violet"), TEXTBOOK
    ),
    Fact(
        "8 violet on 7: hue turned towards orange",
        "degrees",
        2.5,
        40,
        quantity("turned_to_orange", 7, "8 violet"),
        TEXTBOOK,
    ),
    Fact(
        "7 violet-blue on 7 less 7 violet: warmth left",
        "%",
        _ANY,
        -5,
        less_warmth(7, "7 violet-blue", "7 violet"),
        TEXTBOOK,
    ),
    Fact(
        "8 violet on 8 less 8 blue: warmth left",
        "%",
        _ANY,
        0,
        less_warmth(8, "8 violet", "8 blue"),
        TEXTBOOK,
    ),
    Fact(
        "5 blue on 5 less 5 violet: warmth left",
        "%",
        _ANY,
        -5,
        less_warmth(5, "5 blue", "5 violet"),
    ),
    Fact(
        "9 violet on 9 less 9 blue: warmth left",
        "%",
        _ANY,
        -5,
        less_warmth(9, "9 violet", "9 blue"),
    ),
    Fact("uptake in one minute, of that in twenty", "%", 5, 35, minute_uptake),
    Fact("warmth taken out in one minute, of that in twenty", "%", 5, 50, minute_warmth),
    Fact(
        "red tint: green leaves less than blue or violet",
        "a*b*",
        _ANY,
        -0.5,
        opposes("green", ("blue", "violet"), "red", 0.8),
    ),
    Fact(
        "orange tint: blue leaves less than green or violet",
        "a*b*",
        _ANY,
        -0.5,
        opposes("blue", ("green", "violet"), "orange", 0.8),
    ),
    Fact(
        "yellow tint: violet leaves less than green or blue",
        "a*b*",
        _ANY,
        -0.5,
        opposes("violet", ("green", "blue"), "yellow", 1.2),
    ),
    Fact(
        "damp, 2 to 1 on 7.5: levels deeper than dry",
        "levels",
        0.5,
        2.1,
        quantity("damp", 7.5, TWO_TO_ONE),
    ),
)
