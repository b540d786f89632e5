"""How much mixture a bowl should hold."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, Decimal
from statistics import median

from django.utils.translation import gettext as _

from formulas.mixing.scale import MixingRefused, check_finite, to_step

_STEP = Decimal(5)
_PAST_COUNTED = 3
# A bowl that would have to hold more than half as much again is not grown: what is left
# over goes down the drain, so another mix is better (common practice, no source).
MOST_GROWTH = Decimal("1.5")


@dataclass(frozen=True)
class BowlTable:
    """A salon's own amounts; the defaults are common practice, no source.

    `zones` are grams of mixture (colour and developer) for normal density and hair to the
    shoulder, `least_grams` the least that is weighed of one shade.
    """

    zones: Mapping[str, Decimal] = field(
        default_factory=lambda: {
            "roots": Decimal(30),
            "mid_lengths": Decimal(30),
            "ends": Decimal(20),
        }
    )
    lengths: Mapping[str, Decimal] = field(
        default_factory=lambda: {
            "short": Decimal("0.6"),
            "shoulder": Decimal(1),
            "long": Decimal("1.6"),
        }
    )
    densities: Mapping[str, Decimal] = field(
        default_factory=lambda: {
            "fine": Decimal("0.8"),
            "normal": Decimal(1),
            "thick": Decimal("1.3"),
        }
    )
    least_bowl: Decimal = Decimal(20)
    least_grams: Decimal = Decimal(2)
    scale_step: Decimal = Decimal("0.1")


def suggested_bowl_grams(
    zones: Sequence[str],
    *,
    length: str = "shoulder",
    density: str = "normal",
    past_grams: Sequence[Decimal] = (),
    table: BowlTable | None = None,
) -> Decimal:
    """Return how much mixture a bowl for these zones should hold, to full 5 g.

    `past_grams` are this client's earlier bowls for the same zones on the same hair, latest
    first: where there are any, the median of the last three decides. Roots are as wide as
    they are, whatever the length.
    """
    table = table or BowlTable()
    check_finite(*past_grams)
    past = [grams for grams in past_grams if grams > 0][:_PAST_COUNTED]
    if past:
        return max(table.least_bowl, to_step(Decimal(median(past)), _STEP))
    try:
        lengths = table.lengths[length]
        grams = table.densities[density] * sum(
            (table.zones[zone] * (1 if zone == "roots" else lengths) for zone in zones),
            Decimal(0),
        )
    except KeyError as error:
        raise MixingRefused(
            _("Unknown: %(word)s"), code="unknown", word=error.args[0]
        ) from None
    return max(table.least_bowl, to_step(grams, _STEP))


def weighable_bowl(
    parts: Sequence[Decimal], *, bowl_grams: Decimal, ratio: Decimal, table: BowlTable
) -> Decimal:
    """Return the bowl in which each part can be weighed: as wanted, or larger to full 5 g.

    Raises
    ------
    MixingRefused
        If it would have to grow past `MOST_GROWTH`: the mix has to change instead.
    """
    check_finite(bowl_grams, ratio, *parts)
    if not parts or min(parts) <= 0 or bowl_grams <= 0:
        raise MixingRefused(_("Every part must be above zero."), code="not_positive")
    whole = sum(parts, Decimal(0))
    # Rounding to the scale may take half a step off the smallest share.
    least = to_step(table.least_grams, table.scale_step, ROUND_CEILING)
    needed = least * whole / min(parts) * (1 + ratio)
    if needed <= bowl_grams:
        return bowl_grams
    grown = to_step(needed, _STEP, ROUND_CEILING)
    if grown > bowl_grams * MOST_GROWTH:
        raise MixingRefused(
            _("One share is too small to weigh. Use fewer shades or simpler parts."),
            code="share_too_small",
        )
    return grown
