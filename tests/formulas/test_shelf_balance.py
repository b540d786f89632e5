"""The shelf: one balance moves with every movement; below zero it says "count it"."""

import csv
import datetime as dt
import io
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.db import connection
from django.http import QueryDict
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from formulas import selectors, services
from formulas.models import MovementReason, ProductLine, Shade, ShelfBalance, StockMovement
from salon.keyset import slice_of
from salon.models import Salon, Staff
from tests.factories.consult import stocked_line
from tests.factories.salon import SalonFactory
from tests.project.many_salons import Cost, counted
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


def test_every_kind_of_movement_carries_the_salon_of_its_line(
    shade: Shade, owner: Staff, now: dt.datetime
) -> None:
    how: dict[str, Any] = {"shade": shade, "by": owner, "at": now}
    services.receive_stock(grams=Decimal(60), **how)
    services.draw_stock(grams=Decimal(20), **how)
    services.discard_stock(grams=Decimal(7), **how)
    services.count_stock(grams=Decimal(33), **how)

    moved = list(selectors.movements_of_salon(salon=shade.line.salon).filter(shade=shade))
    assert {row.reason for row in moved} == set(MovementReason.values)
    assert not selectors.movements_of_another_salon().exists()


def test_a_movement_in_another_salons_list_is_refused_and_named(
    shade: Shade, owner: Staff, now: dt.datetime
) -> None:
    other: Salon = SalonFactory()
    row = StockMovement(
        salon=other, shade=shade, grams=Decimal(5), reason=MovementReason.RECEIVED,
        recorded_by=owner, recorded_at=now,
    )  # fmt: skip
    with pytest.raises(ValidationError, match="another salon"):
        row.full_clean()
    row.save()  # past the service

    with pytest.raises(CommandError, match=rf"another salon than their line: \[{row.pk}\]"):
        call_command("check_shelf", stdout=io.StringIO())


def _move(shade: Shade, by: Staff, since: dt.datetime, count: int) -> None:
    """Write so many movements of a gram, one a minute, as the years would."""
    StockMovement.objects.bulk_create(
        StockMovement(
            salon=shade.salon, shade=shade, grams=-1, reason=MovementReason.MIXED,
            recorded_by=by, recorded_at=since + dt.timedelta(minutes=n),
        )
        for n in range(count)
    )  # fmt: skip
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _looked_through(salon: Salon, now: dt.datetime) -> Cost:
    """Return what the shelf's lists of movements read: the latest, an old page, the use."""
    old = QueryDict(f"before={now - dt.timedelta(days=900):%Y-%m-%dT%H:%M:%S.%f}_1")
    soon = now.date() + dt.timedelta(days=60)
    with counted() as cost:
        for asked in (QueryDict(), old):
            moved = selectors.movements_of_salon(salon=salon)
            slice_of(moved, asked, by="recorded_at", size=25)
        list(selectors.expiring(salon=salon, until=soon)[:20])
        selectors.used_since(salon=salon, since=now - dt.timedelta(days=60))
    return cost


def test_the_movements_shown_cost_no_more_when_there_are_many(
    shade: Shade, owner: Staff, now: dt.datetime
) -> None:
    """Counted, not timed: what the database looks at is the same for ten times the rows."""
    since = now - dt.timedelta(days=1000)
    _move(shade, owner, since, 300)
    few = _looked_through(shade.salon, now)
    _move(shade, owner, since, 2700)

    many = _looked_through(shade.salon, now)

    assert few.total > 0
    assert many.total <= few.total * 1.5, many.grown(few)


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
