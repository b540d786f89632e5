"""Drawings are templates under `templates/drawings/`: the markup is there, the numbers here.

Numbers reach a template as text: a template would write them in the reader's digits.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from django.template.loader import render_to_string
from django.utils.safestring import SafeString


@dataclass(frozen=True)
class Text:
    """Words at a place; `anchor` as SVG has it."""

    x: str
    y: str
    words: str
    anchor: str = "start"
    is_bold: bool = False


def drawing(name: str, **values: object) -> SafeString:
    """Return the drawing of that name with its values filled in and escaped.

    White space around a drawing would take room beside it.
    """
    return SafeString(render_to_string(f"drawings/{name}.svg", values).strip())


def text(x: float, y: float, words: str, *, anchor: str = "start", bold: bool = False) -> Text:
    """Return words at a place, to a tenth of a unit."""
    return Text(f"{x:.1f}", f"{y:.1f}", words, anchor, bold)


def path(points: Iterable[tuple[float, float]]) -> str:
    """Return a path of straight lines through the points."""
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
