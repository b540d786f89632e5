"""Reads of the formulary."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.db.models import Count, DecimalField, F, Q, QuerySet, Sum, Value
from django.db.models.functions import Coalesce

from formulas.models import (
    ChartEntry,
    MovementReason,
    ProductLine,
    Shade,
    ShelfBalance,
    StockMovement,
)
from salon.models import Salon

_TENTH = Decimal("0.1")
_GRAMS: "DecimalField[Any, Any]" = DecimalField(max_digits=9, decimal_places=1)


def lines(*, salon: Salon) -> QuerySet[ProductLine]:
    """Return every line of the salon."""
    return ProductLine.objects.filter(salon=salon)


def active_lines(*, salon: Salon) -> QuerySet[ProductLine]:
    """Return the lines in use."""
    return lines(salon=salon).filter(is_active=True)


def lines_at_a_glance(*, salon: Salon) -> QuerySet[ProductLine]:
    """Return every line with `shade_count`, how many shades of it are in use."""
    return lines(salon=salon).annotate(
        shade_count=Count("shades", filter=Q(shades__is_active=True))
    )


def shades_with_stock(*, line: ProductLine) -> QuerySet[Shade]:
    """Return the line's shades, also those no longer in use, each with `grams` in stock."""
    return _with_grams(line.shades.all())


def shades_in_stock(*, line: ProductLine) -> QuerySet[Shade]:
    """Return the line's shades in use, each with `grams` in stock."""
    return shades_with_stock(line=line).filter(is_active=True)


def shades_in_use(*, line: ProductLine) -> QuerySet[Shade]:
    """Return the line's shades in use."""
    return line.shades.filter(is_active=True)


def shades_of_salon(*, salon: Salon) -> QuerySet[Shade]:
    """Return every shade of the salon with its line and `grams` in stock."""
    return _with_grams(Shade.objects.filter(line__salon=salon).select_related("line"))


def shelf(*, salon: Salon) -> QuerySet[Shade]:
    """Return the shades in use of lines in use, with `grams`, in the lines' order."""
    return shades_of_salon(salon=salon).filter(is_active=True, line__is_active=True)


def stock_of(*, shade: Shade) -> Decimal:
    """Return the grams of one shade; below zero where a delivery was not entered."""
    found = ShelfBalance.objects.filter(shade=shade).values_list("grams", flat=True).first()
    return found or Decimal(0)


def wrong_balances() -> list[tuple[int, Decimal, Decimal]]:
    """Return (shade, balance, sum of movements) where the two differ, in every salon."""
    shades = Shade.objects.order_by("pk").annotate(
        moved=Coalesce(Sum("movements__grams"), Value(Decimal(0)), output_field=_GRAMS),
        held=Coalesce(F("balance__grams"), Value(Decimal(0)), output_field=_GRAMS),
    )
    # SQLite adds up binary fractions: both are tenths of a gram.
    rows = [
        (pk, held.quantize(_TENTH), moved.quantize(_TENTH))
        for pk, held, moved in shades.values_list("pk", "held", "moved")
    ]
    return [(pk, held, moved) for pk, held, moved in rows if held != moved]


def movements_of_another_salon() -> QuerySet[StockMovement]:
    """Return movements that carry another salon than their shade's line does: there is none."""
    return StockMovement.objects.exclude(salon=F("shade__line__salon")).order_by("pk")


def used_since(*, salon: Salon, since: dt.datetime) -> dict[int, Decimal]:
    """Return the grams of each shade that were mixed since a moment."""
    rows = StockMovement.objects.filter(
        salon=salon, reason=MovementReason.MIXED, recorded_at__gte=since
    )
    used = rows.order_by().values_list("shade").annotate(grams=Sum("grams"))
    return {shade: -grams for shade, grams in used}


def expiring(*, salon: Salon, until: dt.date) -> QuerySet[StockMovement]:
    """Return tubes received that are best before a day, of shades that are still in stock."""
    return (
        StockMovement.objects.filter(
            salon=salon, expires_on__lte=until, shade__balance__grams__gt=0
        )
        .select_related("shade__line")
        .order_by("expires_on", "pk")
    )


def movements_of(*, shade: Shade) -> QuerySet[StockMovement]:
    """Return what came in and went out of one shade, latest first."""
    return StockMovement.objects.filter(shade=shade).select_related("recorded_by")


def movements_of_salon(*, salon: Salon) -> QuerySet[StockMovement]:
    """Return what came in and went out of the whole shelf, latest first."""
    moved = StockMovement.objects.filter(salon=salon)
    return moved.select_related("shade__line", "recorded_by")


def chart_entries(*, salon_id: int) -> list[ChartEntry]:
    """Return the salon's own chart entries in force: the latest of each level and kind."""
    latest: dict[tuple[Decimal, str], ChartEntry] = {}
    rows = ChartEntry.objects.filter(salon=salon_id).select_related("recorded_by")
    for entry in rows.order_by("recorded_at", "pk"):
        latest[entry.level, entry.kind] = entry
    return list(latest.values())


def chart_history(*, salon: Salon) -> QuerySet[ChartEntry]:
    """Return every entry that the salon ever put into its chart, latest first."""
    return (
        ChartEntry.objects.filter(salon=salon)
        .select_related("recorded_by")
        .order_by("-recorded_at", "-pk")
    )


def _with_grams(shades: QuerySet[Shade]) -> QuerySet[Shade]:
    return shades.annotate(
        grams=Coalesce(F("balance__grams"), Value(Decimal(0)), output_field=_GRAMS)
    ).order_by("line__name", "line", F("level").asc(nulls_last=True), "name")
