"""One shade was over-poured: what the rest must weigh now."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
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
Pairs = tuple[tuple[K, Decimal], ...]

# A part that is off by less than this is within what shade strength itself varies by
# (common practice, no source): the smallest top-up stops there.
TOLERANCE_PERCENT = Decimal(5)
_HALVINGS = 40


@dataclass(frozen=True)
class Rescaled(Generic[K]):
    """The bowl after an over-pour.

    Attributes
    ----------
    grams : what each shade must now weigh, so that the parts hold
    extra_grams : how much more colour the whole bowl then holds than planned
    top_up : what is still to be added of each shade
    error_percent : how far the scale's rounding leaves a part off
    least_top_up : the smallest additions that keep every part within the tolerance
    least_extra_grams, least_error_percent : the same of that smaller way
    """

    grams: Pairs[K]
    extra_grams: Decimal
    top_up: Pairs[K]
    error_percent: Decimal
    least_top_up: Pairs[K]
    least_extra_grams: Decimal
    least_error_percent: Decimal


def rescale_after_over_pour(
    planned: Mapping[K, Decimal],
    poured: Mapping[K, Decimal],
    *,
    scale_step: Decimal,
    tolerance_percent: Decimal = TOLERANCE_PERCENT,
) -> Rescaled[K]:
    """Return the smallest bowl that keeps the parts and takes nothing back.

    `planned` are the grams of every shade, `poured` what the scale shows of those already in
    the bowl. The shade that was over-poured most sets the new size. A smaller way, which
    lets the parts be off by the tolerance, is given beside it.
    """
    check_step(scale_step)
    check_finite(*planned.values(), *poured.values(), tolerance_percent)
    unknown = [name for name in poured if name not in planned]
    if unknown:
        raise MixingRefused(
            _("Not in this formula: %(name)s"), code="not_in_formula", name=unknown[0]
        )
    if not planned or any(grams <= 0 for grams in planned.values()):
        raise MixingRefused(_("Weights must be above zero."), code="not_positive")
    if any(grams < 0 for grams in poured.values()):
        raise MixingRefused(_("Weights must be above zero."), code="not_positive")
    full = max([Decimal(1)] + [grams / planned[name] for name, grams in poured.items()])
    smallest = _least_factor(planned, poured, full, tolerance_percent)
    whole = _filled(planned, poured, full, scale_step, ROUND_HALF_UP)
    least = _filled(planned, poured, smallest, scale_step, ROUND_CEILING)
    if sum(least.values()) > sum(whole.values()):  # rounding up may not cost more than all
        least = whole
    before = sum(planned.values(), Decimal(0))
    return Rescaled(
        grams=tuple(whole.items()),
        extra_grams=sum(whole.values(), Decimal(0)) - before,
        top_up=_still_to_add(whole, poured),
        error_percent=in_percent(worst_error(whole.values(), planned.values())),
        least_top_up=_still_to_add(least, poured),
        least_extra_grams=sum(least.values(), Decimal(0)) - before,
        least_error_percent=in_percent(worst_error(least.values(), planned.values())),
    )


def _filled(
    planned: Mapping[K, Decimal],
    poured: Mapping[K, Decimal],
    factor: Decimal,
    step: Decimal,
    rounding: str,
) -> dict[K, Decimal]:
    """Return the bowl when every shade is brought up to its plan times `factor`."""
    return {
        name: max(to_step(grams * factor, step, rounding), poured.get(name, Decimal(0)))
        for name, grams in planned.items()
    }


def _least_factor(
    planned: Mapping[K, Decimal], poured: Mapping[K, Decimal], full: Decimal, tolerance: Decimal
) -> Decimal:
    """Return the smallest size at which no part is off by more than the tolerance, %."""

    def error(factor: Decimal) -> Decimal:
        bowl = [max(g * factor, poured.get(name, Decimal(0))) for name, g in planned.items()]
        return worst_error(bowl, planned.values()) * 100

    low, high = Decimal(1), full
    if error(low) <= tolerance:
        return low
    for _n in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (low, middle) if error(middle) <= tolerance else (middle, high)
    return high


def _still_to_add(bowl: Mapping[K, Decimal], poured: Mapping[K, Decimal]) -> Pairs[K]:
    return tuple((name, grams - poured.get(name, Decimal(0))) for name, grams in bowl.items())
