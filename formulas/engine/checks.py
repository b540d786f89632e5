"""Refusals of bad numbers: each names the argument, its unit and what was given."""

import math
from typing import Any


def number(value: Any, *, name: str, unit: str, low: float, high: float) -> float:
    """Return `value` as a float within low..high, or raise ValueError."""
    try:
        result = float(value)
    except (TypeError, ValueError):
        raise ValueError(f"{name} [{unit}] must be a number, given {value!r}") from None
    if not math.isfinite(result) or not low <= result <= high:
        raise ValueError(f"{name} [{unit}] must be within {low:g}..{high:g}, given {value!r}")
    return result


def whole(value: Any, *, name: str, low: int, high: int) -> int:
    """Return `value` as an int within low..high, or raise ValueError."""
    if isinstance(value, bool) or value != int(value) or not low <= value <= high:
        raise ValueError(f"{name} [count] must be whole, within {low}..{high}, given {value!r}")
    return int(value)
