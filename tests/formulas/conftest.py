import datetime as dt
from decimal import Decimal

import pytest
from django.test import Client as Browser

from formulas import services
from formulas.models import ProductLine, Shade
from salon.models import Staff
from tests.typed import SignIn


@pytest.fixture
def line(owner: Staff, now: dt.datetime) -> ProductLine:
    """One of the invented lines with two tubes of each shade on the shelf."""
    line = services.load_demo_line(name="Tidepool", by=owner, at=now)
    for shade in line.shades.all():
        services.receive_stock(shade=shade, grams=Decimal(120), by=owner, at=now)
    return line


@pytest.fixture
def as_owner(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


@pytest.fixture
def as_stylist(client_for: SignIn, stylist: Staff) -> Browser:
    return client_for(stylist)


@pytest.fixture
def shade(line: ProductLine) -> Shade:
    return line.shades.get(name="8 violet-blue")
