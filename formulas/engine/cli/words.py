"""Hair in words and numbers, as typed into a command."""

import json
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from formulas.engine.toner.zone import Zone, undertone_from_word

POROSITY_WORDS: Mapping[str, float] = {"low": -1.0, "normal": 0.0, "high": 1.0}
_KEYS = ("level", "natural", "undertone", "white", "porosity", "deeper")


def head_zones(typed: Sequence[Sequence[str]]) -> tuple[dict[str, Zone], dict[str, float]]:
    """Return the zones of a head by name, and by how many levels each is to be deeper.

    Each is a name with "key=value" words, or one JSON object with "name" and the same keys.

    Raises
    ------
    ValueError
        If a name is there twice, or a key or a value is not known.
    """
    zones: dict[str, Zone] = {}
    deeper: dict[str, float] = {}
    for words in typed:
        name, values = _object(words[0]) if words[0].startswith("{") else _pairs(words)
        if name in zones:
            raise ValueError(f"zone {name!r} is given twice")
        unknown = sorted(set(values) - set(_KEYS))
        if unknown or "level" not in values:
            raise ValueError(f"zone {name!r}: use level=..., and any of {', '.join(_KEYS[1:])}")
        level = _number(name, "level", values["level"])
        natural = values.get("natural")
        zones[name] = Zone(
            lifted_level=level,
            undertone=undertone_at(str(values.get("undertone", 0)), level=level),
            white_percent=_number(name, "white", values.get("white", 0)),
            porosity=porosity_of(str(values.get("porosity", 0))),
            natural_level=None if natural is None else _number(name, "natural", natural),
        )
        deeper[name] = _number(name, "deeper", values.get("deeper", 0))
    return zones, deeper


def undertone_at(text: str, *, level: float) -> float:
    """Return an undertone from a number, or from a word of the trade at a level."""
    return _number_or(text, lambda word: undertone_from_word(word, level=level))


def porosity_of(text: str) -> float:
    """Return a porosity from a number or a word."""
    return _number_or(text, _porosity)


def _object(text: str) -> tuple[str, dict[str, Any]]:
    try:
        values = json.loads(text)
    except ValueError as error:
        raise ValueError(f"zone: this is not JSON: {error}") from None
    name = values.pop("name", "")
    if not isinstance(name, str) or not name:
        raise ValueError('zone: a JSON object needs a "name"')
    return name, values


def _pairs(words: Sequence[str]) -> tuple[str, dict[str, Any]]:
    values = {}
    for word in words[1:]:
        key, equals, value = word.partition("=")
        if not equals:
            raise ValueError(f"zone {words[0]!r}: use key=value, given {word!r}")
        values[key] = value
    return words[0], values


def _number(zone: str, key: str, value: Any) -> float:
    try:
        return float(value)
    except (TypeError, ValueError):
        raise ValueError(f"{key} of zone {zone!r} must be a number, given {value!r}") from None


def _porosity(word: str) -> float:
    if word not in POROSITY_WORDS:
        raise ValueError(
            f"porosity {word!r}: use -1 to 1, or one of {', '.join(POROSITY_WORDS)}"
        )
    return POROSITY_WORDS[word]


def _number_or(text: str, from_word: Callable[[str], float]) -> float:
    try:
        return float(text)
    except ValueError:
        return from_word(text.strip().lower())
