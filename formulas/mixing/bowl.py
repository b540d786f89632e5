"""How much mixture a bowl should hold."""

from collections.abc import Sequence
from decimal import Decimal
from statistics import median

from django.utils.translation import gettext as _

from formulas.mixing.scale import MixingRefused, check_finite, to_step

# Grams of mixture (colour and developer) per zone for normal density and shoulder length;
# common practice, no source. The stylist's own past bowls come first where there are any.
ZONE_GRAMS = {"roots": Decimal(30), "mid_lengths": Decimal(30), "ends": Decimal(20)}
LENGTH_FACTOR = {"short": Decimal("0.6"), "shoulder": Decimal(1), "long": Decimal("1.6")}
DENSITY_FACTOR = {"fine": Decimal("0.8"), "normal": Decimal(1), "thick": Decimal("1.3")}
_STEP = Decimal(5)
_LEAST = Decimal(20)
_PAST_COUNTED = 3


def suggested_bowl_grams(
    zones: Sequence[str],
    *,
    length: str = "shoulder",
    density: str = "normal",
    past_grams: Sequence[Decimal] = (),
) -> Decimal:
    """Return how much mixture a bowl for these zones should hold, to full 5 g.

    `past_grams` are this client's earlier bowls for the same zones, latest first: where
    there are any, the median of the last three decides. Roots are as wide as they are,
    whatever the length.
    """
    check_finite(*past_grams)
    past = [grams for grams in past_grams if grams > 0][:_PAST_COUNTED]
    if past:
        return max(_LEAST, to_step(Decimal(median(past)), _STEP))
    try:
        stretch = {"roots": Decimal(1)}
        lengths = LENGTH_FACTOR[length]
        grams = DENSITY_FACTOR[density] * sum(
            (ZONE_GRAMS[zone] * stretch.get(zone, lengths) for zone in zones), Decimal(0)
        )
    except KeyError as error:
        raise MixingRefused(_("Unknown: %(word)s") % {"word": error.args[0]}) from None
    return max(_LEAST, to_step(grams, _STEP))
