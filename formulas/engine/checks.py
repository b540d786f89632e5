"""Refusals of bad numbers: each names the argument, its unit and what was given."""

import math
from collections.abc import Mapping
from typing import Any


class EngineRefusal(ValueError):
    """Raised for what a person may have typed; `code` and `values` let an app word it.

    Attributes
    ----------
    code : str
    values : mapping of str to float or str
    """

    def __init__(self, code: str, text: str, **values: float | str) -> None:
        super().__init__(text)
        self.code = code
        self.values: Mapping[str, float | str] = values


def number(value: Any, *, name: str, unit: str, low: float, high: float) -> float:
    """Return `value` as a float within low..high, or raise ValueError."""
    try:
        result = float(value)
    except (TypeError, ValueError, OverflowError):
        text = f"{name} [{unit}] must be a number, given {value!r}"
        raise EngineRefusal("no_number", text, name=name) from None
    if not math.isfinite(result) or not low <= result <= high:
        text = f"{name} [{unit}] must be within {low:g}..{high:g}, given {value!r}"
        raise EngineRefusal("range", text, name=name, low=low, high=high)
    return result


def whole(value: Any, *, name: str, low: int, high: int, unit: str = "count") -> int:
    """Return `value` as an int within low..high, or raise ValueError."""
    try:
        result = float("nan") if isinstance(value, bool) else float(value)
    except (TypeError, ValueError, OverflowError):
        result = float("nan")
    if not result.is_integer() or not low <= result <= high:
        text = f"{name} [{unit}] must be whole, within {low}..{high}, given {value!r}"
        raise EngineRefusal("range", text, name=name, low=low, high=high)
    return int(result)


def one_of(value: Any, choices: Any, *, name: str) -> Any:
    """Return `value` if it is one of `choices`, or raise ValueError that lists them."""
    if value not in choices:
        raise ValueError(f"{name} must be one of {', '.join(choices)}; given {value!r}")
    return value
