"""Mixing arithmetic: parts to grams, developer, peroxide, over-pours. Decimal, no database."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from itertools import product

from django.utils.translation import gettext as _

SCALE_STEPS = (Decimal("0.1"), Decimal("0.5"), Decimal("1"))
# Regulation (EC) 1223/2009, Annex III, entry 12: 12 % (40 volumes) at most in the
# ready-to-use hair preparation.
PEROXIDE_LIMIT_PERCENT = Decimal("12")
PERCENT_PER_VOLUME = Decimal("0.3")  # 10 vol 3 %, 20 vol 6 %, 30 vol 9 %, 40 vol 12 %
_MOST_ROUNDED = 6


class MixingRefused(ValueError):
    """Raised where a mixture cannot or must not be made; says why."""


@dataclass(frozen=True)
class Weights:
    """Grams of each shade in a bowl, as a scale can show them.

    `error_percent` is the largest share, relative to its part, by which rounding moved one.
    """

    grams: tuple[tuple[str, Decimal], ...]
    error_percent: Decimal

    @property
    def total(self) -> Decimal:
        """Grams of colour in all."""
        return sum((grams for _, grams in self.grams), Decimal(0))


def parts_to_grams(
    parts: Mapping[str, Decimal | int], *, colour_grams: Decimal, scale_step: Decimal
) -> Weights:
    """Return the grams of each shade, rounded so that the parts stay as true as possible.

    Every way of rounding each shade up or down is tried; the one whose worst relative error
    is smallest wins, then the one nearest to the wanted total, then the lighter one.

    Raises
    ------
    MixingRefused
        If there are no parts, a part or the weight is not positive, or a share is below
        what the scale can show.
    """
    _check_step(scale_step)
    if not parts or any(Decimal(part) <= 0 for part in parts.values()):
        raise MixingRefused(_("Every part must be more than zero."))
    if len(parts) > _MOST_ROUNDED:
        raise MixingRefused(_("More than six shades in one bowl cannot be weighed truly."))
    if colour_grams <= 0:
        raise MixingRefused(_("The bowl must hold more than zero grams."))
    whole = sum(Decimal(part) for part in parts.values())
    wanted = {name: colour_grams * Decimal(part) / whole for name, part in parts.items()}
    if any(grams < scale_step for grams in wanted.values()):
        raise MixingRefused(_("A share is less than the scale shows. Take a larger bowl."))
    choices = [
        sorted({_round(grams, scale_step, way) for way in (ROUND_FLOOR, ROUND_CEILING)})
        for grams in wanted.values()
    ]
    best = min(
        (option for option in product(*choices) if all(option)),
        key=lambda option: (
            _worst(option, tuple(wanted.values())),
            abs(sum(option) - colour_grams),
            option,
        ),
    )
    return Weights(
        tuple(zip(wanted, best, strict=True)),
        (_worst(best, tuple(wanted.values())) * 100).quantize(Decimal("0.1")),
    )


def _worst(option: Sequence[Decimal], wanted: Sequence[Decimal]) -> Decimal:
    """Return the largest relative error of the proportions, whatever the total became."""
    scale = sum(option, Decimal(0)) / sum(wanted, Decimal(0))
    return max(abs(o / (w * scale) - 1) for o, w in zip(option, wanted, strict=True))


def _round(grams: Decimal, step: Decimal, rounding: str) -> Decimal:
    return (grams / step).quantize(Decimal(1), rounding=rounding) * step


def _check_step(step: Decimal) -> None:
    if step not in SCALE_STEPS:
        raise MixingRefused(_("The scale must show 0.1, 0.5 or 1 g."))


def developer_grams(colour_grams: Decimal, *, ratio: Decimal, scale_step: Decimal) -> Decimal:
    """Return the developer for an amount of colour; `ratio` is developer per part of colour."""
    _check_step(scale_step)
    if colour_grams <= 0 or ratio <= 0:
        raise MixingRefused(_("Colour and ratio must be more than zero."))
    return _round(colour_grams * ratio, scale_step, ROUND_HALF_UP)


def volumes_to_percent(volumes: Decimal) -> Decimal:
    """Return peroxide in percent from volumes: 20 vol is 6 % (textbook rule, x 0.3)."""
    return volumes * PERCENT_PER_VOLUME


def strength_after_mixing(developer_percent: Decimal, *, ratio: Decimal) -> Decimal:
    """Return the peroxide in the ready mixture: 6 % at 1:1 gives 3 %, at 1:2 gives 4 %."""
    if developer_percent < 0 or ratio <= 0:
        raise MixingRefused(_("Strength and ratio must be more than zero."))
    return developer_percent * ratio / (1 + ratio)


def check_peroxide(ready_percent: Decimal) -> None:
    """Refuse a ready-to-use mixture above the limit."""
    if ready_percent > PEROXIDE_LIMIT_PERCENT:
        raise MixingRefused(
            _(
                "%(percent)s %% peroxide in the ready mixture is above the 12 %% that "
                "Regulation (EC) 1223/2009, Annex III, entry 12 allows on hair."
            )
            % {"percent": ready_percent.quantize(Decimal("0.1"))}
        )


@dataclass(frozen=True)
class Dilution:
    """Grams of the stronger stock and of what weakens it (water where `weaker` is 0 %)."""

    stronger_grams: Decimal
    weaker_grams: Decimal


def dilute_developer(
    *, stronger: Decimal, weaker: Decimal, wanted: Decimal, grams: Decimal
) -> Dilution:
    """Return how to get `grams` of developer of `wanted` percent from two stocks.

    A weighted mean: 12 % and water to 9 % is 3:1, 12 % to 6 % is 1:1 (textbook dilution
    tables).

    Raises
    ------
    MixingRefused
        If the wanted strength does not lie between the two.
    """
    if grams <= 0:
        raise MixingRefused(_("The amount must be more than zero."))
    if weaker < 0 or not weaker < stronger or not weaker <= wanted <= stronger:
        raise MixingRefused(
            _("%(wanted)s %% does not lie between %(weaker)s %% and %(stronger)s %%.")
            % {"wanted": wanted, "weaker": weaker, "stronger": stronger}
        )
    share = (wanted - weaker) / (stronger - weaker)
    return Dilution(grams * share, grams * (1 - share))


@dataclass(frozen=True)
class Rescaled:
    """The bowl after an over-pour.

    Attributes
    ----------
    grams : what each shade must now weigh, so that the parts hold
    extra_grams : how much more colour the whole bowl then holds than planned
    top_up : what is still to be added of each shade
    """

    grams: tuple[tuple[str, Decimal], ...]
    extra_grams: Decimal
    top_up: tuple[tuple[str, Decimal], ...]


def rescale_after_over_pour(
    planned: Mapping[str, Decimal], poured: Mapping[str, Decimal], *, scale_step: Decimal
) -> Rescaled:
    """Return the smallest bowl that keeps the parts and takes nothing back.

    `planned` are the grams of every shade, `poured` what the scale shows of those already in
    the bowl. The shade that was over-poured most sets the new size.
    """
    _check_step(scale_step)
    unknown = set(poured) - set(planned)
    if unknown:
        raise MixingRefused(_("Not in this formula: %(name)s") % {"name": min(unknown)})
    if any(grams <= 0 for grams in planned.values()) or any(g < 0 for g in poured.values()):
        raise MixingRefused(_("Weights must be more than zero."))
    factor = max([Decimal(1)] + [grams / planned[name] for name, grams in poured.items()])
    grams = tuple(
        (
            name,
            max(
                _round(weight * factor, scale_step, ROUND_HALF_UP), poured.get(name, Decimal(0))
            ),
        )
        for name, weight in planned.items()
    )
    top_up = tuple((name, weight - poured.get(name, Decimal(0))) for name, weight in grams)
    extra = sum((g for _, g in grams), Decimal(0)) - sum(planned.values(), Decimal(0))
    return Rescaled(grams, extra, top_up)


# Grams of mixture (colour and developer) per zone for normal density and shoulder length;
# common practice, no source. The stylist's own past bowls come first where there are any.
ZONE_GRAMS = {"roots": Decimal(30), "mid_lengths": Decimal(30), "ends": Decimal(20)}
LENGTH_FACTOR = {"short": Decimal("0.6"), "shoulder": Decimal(1), "long": Decimal("1.6")}
DENSITY_FACTOR = {"fine": Decimal("0.8"), "normal": Decimal(1), "thick": Decimal("1.3")}


def suggested_bowl_grams(
    zones: Sequence[str], *, length: str = "shoulder", density: str = "normal"
) -> Decimal:
    """Return how much mixture a bowl for these zones should hold, to full 5 g."""
    try:
        base = sum((ZONE_GRAMS[zone] for zone in zones), Decimal(0))
        grams = base * LENGTH_FACTOR[length] * DENSITY_FACTOR[density]
    except KeyError as error:
        raise MixingRefused(_("Unknown: %(word)s") % {"word": error.args[0]}) from None
    return max(Decimal(20), _round(grams, Decimal(5), ROUND_HALF_UP))
