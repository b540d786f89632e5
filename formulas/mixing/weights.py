"""Parts to grams, and the developer for them."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from itertools import product
from typing import Generic, TypeVar

from django.utils.translation import gettext as _

from formulas.mixing.scale import (
    MixingRefused,
    check_finite,
    check_step,
    in_percent,
    to_step,
    worst_error,
)

K = TypeVar("K", bound=Hashable)

_MOST_SHADES = 6


@dataclass(frozen=True)
class Weights(Generic[K]):
    """Grams of each shade in a bowl, as a scale can show them.

    `error_percent` is the largest share, relative to its part, by which rounding moved one.
    """

    grams: tuple[tuple[K, Decimal], ...]
    error_percent: Decimal

    @property
    def total(self) -> Decimal:
        """Grams of colour in all."""
        return sum((grams for _, grams in self.grams), Decimal(0))


def colour_grams_of(bowl_grams: Decimal, *, ratio: Decimal) -> Decimal:
    """Return the grams of colour in a bowl that holds colour and developer."""
    check_finite(bowl_grams, ratio)
    if bowl_grams <= 0 or ratio < 0:
        raise MixingRefused(_("The bowl must hold more than zero grams."), code="no_amount")
    return bowl_grams / (1 + ratio)


def parts_to_grams(
    parts: Mapping[K, Decimal | int], *, colour_grams: Decimal, scale_step: Decimal
) -> Weights[K]:
    """Return the grams of each shade, rounded so that the parts stay as true as possible.

    Every way of rounding each shade up or down is tried; the one whose worst relative error
    is smallest wins, then the one nearest to the wanted total, then the lighter one.

    Raises
    ------
    MixingRefused
        If there are no parts, a part or the weight is not positive, or a share is below
        what the scale can show.
    """
    check_step(scale_step)
    check_finite(colour_grams, *parts.values())
    if not parts or any(Decimal(part) <= 0 for part in parts.values()):
        raise MixingRefused(_("Every part must be above zero."), code="not_positive")
    if len(parts) > _MOST_SHADES:
        raise MixingRefused(
            _("More than six shades in one bowl cannot be weighed accurately."),
            code="too_many_shades",
        )
    if colour_grams <= 0:
        raise MixingRefused(_("The bowl must hold more than zero grams."), code="no_amount")
    whole = sum(Decimal(part) for part in parts.values())
    wanted = [colour_grams * Decimal(part) / whole for part in parts.values()]
    if any(grams < scale_step for grams in wanted):
        raise MixingRefused(
            _("One share is less than the scale shows. Use a larger bowl."),
            code="share_too_small",
        )
    choices = [
        sorted({to_step(grams, scale_step, way) for way in (ROUND_FLOOR, ROUND_CEILING)})
        for grams in wanted
    ]
    best = min(
        product(*choices),
        key=lambda option: (
            worst_error(option, wanted),
            abs(sum(option) - colour_grams),
            option,
        ),
    )
    return Weights(tuple(zip(parts, best, strict=True)), in_percent(worst_error(best, wanted)))


def developer_grams(colour_grams: Decimal, *, ratio: Decimal, scale_step: Decimal) -> Decimal:
    """Return the developer for an amount of colour; `ratio` is developer per part of colour."""
    check_step(scale_step)
    check_finite(colour_grams, ratio)
    if colour_grams <= 0 or ratio <= 0:
        raise MixingRefused(_("Colour and ratio must be above zero."), code="not_positive")
    return to_step(colour_grams * ratio, scale_step)
