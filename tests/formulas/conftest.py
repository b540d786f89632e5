import datetime as dt
from decimal import Decimal

import pytest

from formulas import services
from formulas.models import ProductLine
from salon.models import Staff


@pytest.fixture
def line(owner: Staff, now: dt.datetime) -> ProductLine:
    """One of the invented lines with two tubes of each shade on the shelf."""
    line = services.load_demo_line(name="Tidepool", by=owner, at=now)
    for shade in line.shades.all():
        services.receive_stock(shade=shade, grams=Decimal(120), by=owner, at=now)
    return line
