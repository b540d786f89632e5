"""What a kitchen or bench scale can show, and how far rounding to it moves a recipe."""

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.utils.translation import gettext as _

from salon.refusals import Refused

SCALE_STEPS = (Decimal("0.1"), Decimal("0.5"), Decimal(1))


class MixingRefused(Refused):
    """Raised where a mixture cannot or must not be made; says why."""


def check_step(step: Decimal) -> None:
    """Refuse a step that no scale in the trade shows."""
    if step not in SCALE_STEPS:
        raise MixingRefused(_("The scale must show 0.1, 0.5 or 1 g."), code="scale_step")


def check_finite(*values: Any) -> None:
    """Refuse what is no number, or so large that no bowl holds it."""
    for value in values:
        if not Decimal(value).is_finite() or abs(Decimal(value)) > 100_000:
            raise MixingRefused(_("Enter a plain number."), code="no_number")


def to_step(grams: Decimal, step: Decimal, rounding: str = ROUND_HALF_UP) -> Decimal:
    """Return `grams` as the scale shows them."""
    return (grams / step).quantize(Decimal(1), rounding=rounding) * step


def worst_error(grams: Iterable[Decimal], true: Iterable[Decimal]) -> Decimal:
    """Return the largest relative error of the proportions, whatever the total became."""
    weighed, wanted = list(grams), list(true)
    scale = sum(weighed, Decimal(0)) / sum(wanted, Decimal(0))
    return max(abs(g / (w * scale) - 1) for g, w in zip(weighed, wanted, strict=True))


def in_percent(share: Decimal) -> Decimal:
    """Return a share as a percentage with one decimal."""
    return (share * 100).quantize(Decimal("0.1"))
