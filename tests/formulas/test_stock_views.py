"""Pages of the shelf: received, counted, discarded; bad weights refused."""

from decimal import Decimal

import pytest
from django.test import Client as Browser

from formulas import selectors
from formulas.models import Shade
from salon.models import Staff


def test_a_stylist_receives_and_the_history_says_so(
    as_stylist: Browser, shade: Shade, stylist: Staff
) -> None:
    as_stylist.post("/stock/", {"shade": shade.pk, "grams": "60", "batch": "L204"})
    as_stylist.post(f"/stock/{shade.pk}/", {"grams": "30.5", "batch": ""})

    page = as_stylist.get(f"/stock/{shade.pk}/")
    assert selectors.stock_of(shade=shade) == Decimal("210.5")
    assert "L204" in page.text
    assert stylist.display_name in page.text


def test_an_owner_counts_and_discards(as_owner: Browser, shade: Shade) -> None:
    as_owner.post(f"/stock/{shade.pk}/count/", {"grams": "100"})
    as_owner.post(f"/stock/{shade.pk}/discard/", {"grams": "40", "batch": "L1"})

    assert selectors.stock_of(shade=shade) == 60
    reasons = set(shade.movements.values_list("reason", flat=True))
    assert reasons == {"received", "counted", "discarded"}


def test_more_than_the_shelf_holds_is_not_discarded(as_owner: Browser, shade: Shade) -> None:
    page = as_owner.post(f"/stock/{shade.pk}/discard/", {"grams": "500"})

    assert page.status_code == 422
    assert "There are only 120.0 g in stock" in page.text
    assert selectors.stock_of(shade=shade) == 120


@pytest.mark.parametrize("grams", ["", "0", "-5", "0.05", "1e9", "NaN", "Infinity", "much"])
@pytest.mark.parametrize("path", ["/stock/{}/", "/stock/{}/discard/"])
def test_impossible_weights_are_refused(
    as_owner: Browser, shade: Shade, path: str, grams: str
) -> None:
    page = as_owner.post(path.format(shade.pk), {"grams": grams})

    assert page.status_code == 422
    assert selectors.stock_of(shade=shade) == 120


def test_a_double_click_receives_once(as_stylist: Browser, shade: Shade) -> None:
    data = {"grams": "60", "once": "8e8f9c34-7ac5-4f0c-9f0a-3f6b9e2ad001"}

    first = as_stylist.post(f"/stock/{shade.pk}/", data)
    second = as_stylist.post(f"/stock/{shade.pk}/", data)

    assert first.headers["Location"] == second.headers["Location"]
    assert selectors.stock_of(shade=shade) == 180
