"""The shelf: one balance moves with every movement; below zero it says "count it"."""

import csv
import datetime as dt
import io
from decimal import Decimal
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from formulas import selectors, services
from formulas.models import ProductLine, Shade, ShelfBalance
from salon.models import Salon, Staff
from tests.factories.consult import stocked_line
from tests.typed import SignIn


@pytest.fixture
def line(salon: Salon, owner: Staff, now: dt.datetime) -> ProductLine:
    return stocked_line(salon, by=owner, at=now)


@pytest.fixture
def shade(line: ProductLine) -> Shade:
    return line.shades.get(name="9 violet")


def test_the_balance_is_the_sum_after_every_kind_of_movement(
    shade: Shade, owner: Staff, now: dt.datetime
) -> None:
    held = selectors.stock_of(shade=shade)
    how: dict[str, Any] = {"shade": shade, "by": owner, "at": now}
    services.receive_stock(grams=Decimal(60), **how)
    services.draw_stock(grams=Decimal("12.5"), **how)
    services.discard_stock(grams=Decimal(7), **how)
    assert selectors.stock_of(shade=shade) == held + Decimal("40.5")
    services.count_stock(grams=Decimal(33), **how)
    services.draw_stock(grams=Decimal(40), **how)

    assert selectors.stock_of(shade=shade) == Decimal(-7)
    assert selectors.wrong_balances() == []
    with pytest.raises(services.StockRefused, match=r"only 0\.0 g"):
        services.discard_stock(grams=Decimal(1), **how)


def test_a_wrong_balance_is_named_and_rebuilt(shade: Shade) -> None:
    ShelfBalance.objects.filter(shade=shade).update(grams=1)

    with pytest.raises(CommandError, match="1 balances are wrong"):
        call_command("check_shelf", stdout=io.StringIO())
    call_command("check_shelf", rebuild=True, stdout=io.StringIO())

    assert selectors.stock_of(shade=shade) == Decimal(300)


def test_the_shelf_asks_as_little_with_many_movements(
    shade: Shade, owner: Staff, now: dt.datetime, client_for: SignIn
) -> None:
    """The shelf's own query names no movement: its cost does not grow with them."""
    with CaptureQueriesContext(connection) as captured:
        list(selectors.shelf(salon=shade.salon))
        selectors.stock_of(shade=shade)

    assert len(captured) == 2
    assert not any("stockmovement" in query["sql"] for query in captured)


def test_what_to_order_goes_out_as_csv_and_nothing_is_negative(
    line: ProductLine, shade: Shade, stylist: Staff, client_for: SignIn
) -> None:
    line.shades.filter(name="clear").update(reorder_grams=350, tube_price=0)
    ShelfBalance.objects.filter(shade=shade).update(grams=Decimal("-12.6"))
    browser = client_for(stylist)

    answer = browser.get(reverse("formulas:order_list"))

    rows = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert [row[2:] for row in rows[1:]] == [
        ["9 violet", "", "count it", "", "20.0", "", "60.0", "2", "7.20"],
        ["clear", "", "running low", "300.0", "350.0", "", "60.0", "2", "no price yet"],
    ]
    shelf = browser.get(reverse("formulas:stock")).text
    assert "count it" in shelf
    page = browser.get(reverse("formulas:shade_stock", args=[shade.pk])).text
    assert "12.6" not in shelf[: shelf.index('id="moved"')]
    assert "12.6" not in page[: page.index('id="moved"')]


def test_a_shades_level_for_ordering_is_entered_with_it(
    shade: Shade, owner: Staff, client_for: SignIn
) -> None:
    page = client_for(owner).get(reverse("formulas:edit_shade", args=[shade.pk]))

    assert 'name="reorder_grams"' in page.text
