"""The smallest valid rows of the formulary."""

from decimal import Decimal

import factory

from formulas.models import LineKind, ProductLine, Shade
from formulas.snapshots import Range
from tests.factories.salon import SalonFactory


class LineFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = ProductLine

    salon = factory.SubFactory(SalonFactory)
    name = factory.Sequence(lambda n: f"Line {n}")
    kind = LineKind.ACIDIC


class ShadeFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Shade

    line = factory.SubFactory(LineFactory)
    name = factory.Sequence(lambda n: f"8 natural {n}")
    level = Decimal("8.0")


def exactly(value: float) -> Range:
    """Return a number without doubt."""
    return {"value": value, "low": value, "high": value}
