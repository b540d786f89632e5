"""Peroxide: strength after mixing, weaker from stronger, and the limit that the law sets."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from formulas.mixing.scale import MixingRefused, check_finite

# Regulation (EC) 1223/2009, Annex III, entry 12: 12 % (40 volumes) at most in the
# ready-to-use hair preparation.
PEROXIDE_LIMIT_PERCENT = Decimal(12)
PERCENT_PER_VOLUME = Decimal("0.3")  # 10 vol 3 %, 20 vol 6 %, 30 vol 9 %, 40 vol 12 %


def volumes_to_percent(volumes: Decimal) -> Decimal:
    """Return peroxide in percent from volumes: 20 vol is 6 % (textbook rule, x 0.3)."""
    check_finite(volumes)
    return volumes * PERCENT_PER_VOLUME


def percent_to_volumes(percent: Decimal) -> Decimal:
    """Return peroxide in volumes from percent: 6 % is 20 vol."""
    check_finite(percent)
    return percent / PERCENT_PER_VOLUME


def strength_after_mixing(developer_percent: Decimal, *, ratio: Decimal) -> Decimal:
    """Return the peroxide in the ready mixture: 6 % at 1:1 gives 3 %, at 1:2 gives 4 %."""
    check_finite(developer_percent, ratio)
    if developer_percent < 0 or ratio <= 0:
        raise MixingRefused(_("Strength and ratio must be above zero."), code="not_positive")
    return developer_percent * ratio / (1 + ratio)


def check_peroxide(ready_percent: Decimal) -> None:
    """Refuse a ready-to-use mixture above the limit."""
    check_finite(ready_percent)
    if ready_percent > PEROXIDE_LIMIT_PERCENT:
        raise MixingRefused(
            _(
                "%(percent)s %% peroxide in the ready mixture is above the 12 %% allowed "
                "on hair (Regulation (EC) 1223/2009, Annex III, entry 12)."
            ),
            code="above_limit",
            percent=number_format(ready_percent.normalize()),
        )


def check_developer(developer_percent: Decimal, *, ratio: Decimal) -> Decimal:
    """Return the strength of the ready mixture, or refuse it or the developer itself.

    A developer above the limit is refused even where the colour thins it enough: it is a
    stock, to be thinned first (common practice, no source).
    """
    ready = strength_after_mixing(developer_percent, ratio=ratio)
    check_peroxide(ready)
    if developer_percent > PEROXIDE_LIMIT_PERCENT:
        raise MixingRefused(
            _("Dilute it first: a developer above 12 %% must not go into the bowl undiluted.")
            % {},
            code="undiluted",
        )
    return ready


@dataclass(frozen=True)
class Dilution:
    """Grams of the stronger stock and of what weakens it (water where `weaker` is 0 %)."""

    stronger_grams: Decimal
    weaker_grams: Decimal


def strength_of_blend(
    *,
    stronger: Decimal,
    stronger_grams: Decimal,
    weaker: Decimal = Decimal(0),
    weaker_grams: Decimal,
) -> Decimal:
    """Return the strength of two stocks poured together: 2 x 40 vol + 1 x 10 vol is 30 vol."""
    check_finite(stronger, stronger_grams, weaker, weaker_grams)
    if min(stronger, stronger_grams, weaker, weaker_grams) < 0:
        raise MixingRefused(_("Strengths and amounts cannot be below zero."), code="negative")
    total = stronger_grams + weaker_grams
    if not total:
        raise MixingRefused(_("The amount must be more than zero."), code="no_amount")
    return (stronger * stronger_grams + weaker * weaker_grams) / total


@dataclass(frozen=True)
class MadeFrom:
    """Two bottles that a developer is made from, in percent; `thinner` is 0 for water."""

    stock: Decimal
    thinner: Decimal = Decimal(0)


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
    check_finite(stronger, weaker, wanted, grams)
    if grams <= 0:
        raise MixingRefused(_("The amount must be more than zero."), code="no_amount")
    if weaker < 0 or not weaker < stronger or not weaker <= wanted <= stronger:
        raise MixingRefused(
            _("%(wanted)s %% is not between %(weaker)s %% and %(stronger)s %%."),
            code="not_between",
            wanted=number_format(wanted),
            weaker=number_format(weaker),
            stronger=number_format(stronger),
        )
    stronger_grams = grams * (wanted - weaker) / (stronger - weaker)
    return Dilution(stronger_grams, grams - stronger_grams)
