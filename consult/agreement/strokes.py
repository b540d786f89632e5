"""A drawn signature: points as the pad sent them, checked, and drawn again as lines."""

import json
import math
from typing import Any

from django.utils.translation import gettext as _

from salon.refusals import Refused

MOST_CHARACTERS = 400_000
FEWEST_POINTS = 5
_FURTHEST = 10_000.0


class SignatureEmpty(Refused):
    """Raised when nothing, or hardly a dot, was drawn."""


def cleaned(text: str, *, is_turned: bool = False) -> str:
    """Return the strokes as compact JSON of `[[x, y], ...]` lists, or refuse them.

    Strokes of a turned pad are turned by half a circle, so that they read upright.
    """
    if len(text) > MOST_CHARACTERS:
        raise SignatureEmpty(
            _("This signature is too long. Erase it and sign again."), code="too_long"
        )
    try:
        lines = [_line(group) for group in json.loads(text or "[]")]
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        raise SignatureEmpty(
            _("The signature could not be read. Sign again."), code="unreadable"
        ) from None
    if sum(len(line) for line in lines) < FEWEST_POINTS:
        raise SignatureEmpty(
            _("Nothing is drawn yet. Sign with a finger, or type the name."), code="empty"
        )
    if is_turned:
        right = max(x for line in lines for x, _ in line)
        bottom = max(y for line in lines for _, y in line)
        lines = [[[round(right - x, 1), round(bottom - y, 1)] for x, y in ln] for ln in lines]
    return json.dumps(lines, separators=(",", ":"))


def _line(group: Any) -> list[list[float]]:
    points = group["points"] if isinstance(group, dict) else group
    line = []
    for point in points:
        x, y = (point["x"], point["y"]) if isinstance(point, dict) else point
        if not all(math.isfinite(v) and abs(v) <= _FURTHEST for v in (x, y)):
            raise ValueError("a point lies off the pad")
        line.append([round(float(x), 1), round(float(y), 1)])
    return line


def svg_path(strokes: str) -> tuple[str, str]:
    """Return the viewBox and the path of cleaned strokes, for an `<svg>`."""
    lines = json.loads(strokes)
    points = [point for line in lines for point in line]
    left, top = min(p[0] for p in points), min(p[1] for p in points)
    width = max(p[0] for p in points) - left
    height = max(p[1] for p in points) - top
    box = f"{left - 4:.0f} {top - 4:.0f} {width + 8:.0f} {height + 8:.0f}"
    path = "".join(
        "M" + "L".join(f"{x:g} {y:g}" for x, y in (line * 2 if len(line) == 1 else line))
        for line in lines
        if line
    )
    return box, path
