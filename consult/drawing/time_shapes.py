"""What a picture through time is made of: places as text for its template."""

from dataclasses import dataclass

from salon.drawing.markup import Text


@dataclass(frozen=True)
class Range:
    """The likely range of one visit as a box with the promised value across it."""

    x: str
    y: str
    width: str
    height: str
    promised: str


@dataclass(frozen=True)
class Seen:
    """What was seen, outside its range or within."""

    x: str
    y: str
    r: str
    is_outside: bool


@dataclass(frozen=True)
class Field:
    """One number's field with its scale and everything drawn in it."""

    top: str
    name_y: str
    name: str
    unit: str
    rules: tuple[tuple[str, Text], ...]
    ranges: tuple[Range, ...]
    fading: tuple[str, ...]
    seen: tuple[Seen, ...]
    runs: tuple[str, ...]


@dataclass(frozen=True)
class Lock:
    """One lock of hair of the strip; dashed where no colour is known."""

    x: str
    hex: str


@dataclass(frozen=True)
class Strip:
    """The locks of all visits in the booth, and how one hangs."""

    width: str
    height: str
    outline: str
    hairs: tuple[tuple[str, str, str, str], ...]  # path, colour, opacity, width
    visits: tuple[tuple[tuple[Lock, ...], str], ...]  # locks, the line that leads down


@dataclass(frozen=True)
class Redone:
    """An arrow from a visit to the one that redid it."""

    d: str
    x: str
    y: str
    words: Text


@dataclass(frozen=True)
class Foot:
    """Dates below the fields, and the weeks between visits to scale."""

    ticks: tuple[str, ...]
    dates: tuple[Text, ...]
    weeks: tuple[tuple[Text, str], ...]  # words, the rules beside them


@dataclass(frozen=True)
class Press:
    """A link over a visit's column: read by pointing, by keyboard, aloud."""

    href: str
    title: str
    x: str
    width: str
