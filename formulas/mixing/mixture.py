"""What a bowl is, as weighed: the ratio and the peroxide that follow from its amounts."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from formulas.mixing.peroxide import check_developer
from formulas.mixing.scale import MixingRefused, check_finite


@dataclass(frozen=True)
class Mixture:
    """A bowl: `ratio` is developer per part of colour, `strength_percent` its peroxide."""

    colour_grams: Decimal
    developer_grams: Decimal
    ratio: Decimal
    strength_percent: Decimal


def mixture_of(
    *, colour_grams: Decimal, developer_grams: Decimal, developer_percent: Decimal
) -> Mixture:
    """Return the bowl that these amounts make, or refuse it above the peroxide limit.

    A bowl without developer has no peroxide, whatever the bottle says.
    """
    check_finite(colour_grams, developer_grams, developer_percent)
    if colour_grams <= 0 or developer_grams < 0:
        raise MixingRefused(_("Weights must be above zero."), code="not_positive")
    ratio = developer_grams / colour_grams
    strength = Decimal(0)
    if developer_grams:
        strength = check_developer(developer_percent, ratio=ratio)
    return Mixture(
        colour_grams=colour_grams,
        developer_grams=developer_grams,
        ratio=ratio.quantize(Decimal("0.01")),
        strength_percent=strength.quantize(Decimal("0.01")),
    )
