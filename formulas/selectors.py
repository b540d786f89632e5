"""Reads of the formulary."""

from decimal import Decimal

from django.db.models import DecimalField, QuerySet, Sum, Value
from django.db.models.functions import Coalesce

from formulas.engine import Chart
from formulas.models import ChartEntry, ProductLine, Shade, StockMovement
from salon.models import Salon


def lines(*, salon: Salon) -> QuerySet[ProductLine]:
    """Return every line of the salon."""
    return ProductLine.objects.filter(salon=salon)


def active_lines(*, salon: Salon) -> QuerySet[ProductLine]:
    """Return the lines in use."""
    return lines(salon=salon).filter(is_active=True)


def shades_in_stock(*, line: ProductLine) -> QuerySet[Shade]:
    """Return the line's shades in use, each with `grams` in stock."""
    return line.shades.filter(is_active=True).annotate(
        grams=Coalesce(
            Sum("movements__grams"),
            Value(Decimal(0)),
            output_field=DecimalField(max_digits=9, decimal_places=1),
        )
    )


def stock_of(*, shade: Shade) -> Decimal:
    """Return the grams of one shade."""
    total = StockMovement.objects.filter(shade=shade).aggregate(total=Sum("grams"))["total"]
    return total or Decimal(0)


def movements(*, line: ProductLine) -> QuerySet[StockMovement]:
    """Return what came in and went out, latest first."""
    return StockMovement.objects.filter(shade__line=line).select_related("shade", "recorded_by")


def chart_entries(*, salon: Salon) -> list[ChartEntry]:
    """Return the salon's own chart entries in force: the latest of each level and kind."""
    latest: dict[tuple[Decimal, str], ChartEntry] = {}
    for entry in ChartEntry.objects.filter(salon=salon).order_by("recorded_at", "pk"):
        latest[entry.level, entry.kind] = entry
    return list(latest.values())


def chart_of(*, salon: Salon) -> Chart:
    """Return the salon's level chart: the default with its own entries put in."""
    chart = Chart.default()
    for entry in sorted(chart_entries(salon=salon), key=lambda e: (e.level, e.kind)):
        lab = [entry.lightness, entry.green_red, entry.blue_yellow]
        chart = chart.replaced(level=float(entry.level), kind=entry.kind, lab=lab)
    return chart
