"""The formulary's pages: doors, other salons, queries.

Which role opens which page is held by tests/project/test_roles.py.
"""

import datetime as dt
from decimal import Decimal

import pytest
from django.test import Client as Browser
from pytest_django import DjangoAssertNumQueries

from formulas import services
from formulas.models import ProductLine, Shade, StockMovement
from salon.models import Role, Salon
from tests.factories.formulas import LineFactory, ShadeFactory
from tests.factories.salon import StaffFactory
from tests.typed import SignIn


def test_pages_open_for_a_stylist_without_the_owners_doors(
    as_stylist: Browser, line: ProductLine, shade: Shade
) -> None:
    for path in ("/lines/", f"/lines/{line.pk}/", "/stock/", f"/stock/{shade.pk}/", "/chart/"):
        page = as_stylist.get(path)

        assert page.status_code == 200, path
        assert "/edit/" not in page.text, path
        assert "/count/" not in page.text, path


def test_an_empty_salon_is_told_where_to_begin(as_owner: Browser) -> None:
    for path in ("/lines/", "/stock/", "/chart/", "/explanation/"):
        assert as_owner.get(path).status_code == 200, path

    assert "/lines/new/" in as_owner.get("/lines/").text


@pytest.mark.parametrize(
    "path",
    [
        "/lines/{line}/", "/lines/{line}/edit/", "/lines/{line}/composition/",
        "/lines/{line}/shades/new/", "/shades/{shade}/edit/", "/stock/{shade}/",
    ],
)  # fmt: skip
def test_another_salons_rows_are_not_there(
    as_owner: Browser, other_salon: Salon, path: str
) -> None:
    shade = ShadeFactory(line=LineFactory(salon=other_salon))
    address = path.format(line=shade.line_id, shade=shade.pk)

    assert as_owner.get(address).status_code == 404
    assert as_owner.post(address, {}).status_code in {404, 405}


def test_another_salons_shade_takes_no_delivery(as_owner: Browser, other_salon: Salon) -> None:
    shade = ShadeFactory(line=LineFactory(salon=other_salon))

    page = as_owner.post("/stock/", {"shade": shade.pk, "grams": "60"})

    assert page.status_code == 422
    assert as_owner.post(f"/stock/{shade.pk}/count/", {"grams": "1"}).status_code == 404
    assert as_owner.post(f"/stock/{shade.pk}/discard/", {"grams": "1"}).status_code == 404
    assert not StockMovement.objects.exists()


@pytest.mark.parametrize("path", ["/lines/", "/stock/", "/chart/", "/lines/{}/"])
def test_queries_do_not_grow_with_rows(
    client_for: SignIn,
    salon: Salon,
    now: dt.datetime,
    path: str,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    owner = StaffFactory(salon=salon, role=Role.OWNER)
    line = LineFactory(salon=salon)
    browser = client_for(owner)
    for n in range(30):
        shade = ShadeFactory(line=line if n % 2 else LineFactory(salon=salon))
        services.receive_stock(shade=shade, grams=Decimal(20), by=owner, at=now)
    for level in ("7", "7.5", "8"):
        services.replace_chart_entry(
            by=owner, at=now, level=Decimal(level), kind="natural", standing="measured",
            lightness=46 + 4 * (float(level) - 7) * 2, green_red=6.5, blue_yellow=16,
        )  # fmt: skip

    # session, user, salon; then at most: lines, shelf, choices, count, movements, what was
    # used of late, chart
    with django_assert_max_num_queries(10):
        assert browser.get(path.format(line.pk)).status_code == 200
