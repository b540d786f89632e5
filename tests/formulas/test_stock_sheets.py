"""A delivery of many shades in one form, scanned or typed; a count of the whole shelf."""

import datetime as dt
from decimal import Decimal

from django.test import Client as Browser

from formulas.models import ProductLine, Shade, StockMovement
from formulas.services import draw_stock
from salon.models import Staff

CODE = "6291041500213"


def _held(line: ProductLine, name: str) -> Decimal:
    return line.shades.get(name=name).balance.grams


def test_a_delivery_is_scanned_typed_and_received_at_once(
    as_stylist: Browser, line: ProductLine
) -> None:
    violet, clear = line.shades.get(name="8 violet-blue"), line.shades.get(name="clear")
    Shade.objects.filter(pk=violet.pk).update(gtin=CODE)
    sheet = {f"tubes-{clear.pk}": "2", f"batch-{clear.pk}": "L-9"}

    once = as_stylist.post("/stock/delivery/", {**sheet, "scan": CODE})
    again = as_stylist.post(
        "/stock/delivery/", {**sheet, "scan": CODE, f"tubes-{violet.pk}": "1"}
    )
    unknown = as_stylist.post("/stock/delivery/", {**sheet, "scan": "96385074"})
    nothing = as_stylist.post("/stock/delivery/", {})
    missing = as_stylist.post("/stock/delivery/", {f"batch-{clear.pk}": "L-9"})

    assert once.context["form"][f"tubes-{violet.pk}"].value() == "1"
    assert again.context["form"][f"tubes-{violet.pk}"].value() == "2"
    assert (unknown.status_code, nothing.status_code, missing.status_code) == (422, 422, 422)
    assert "No shade has the bar code 96385074" in unknown.text
    before = _held(line, "8 violet-blue"), _held(line, "clear")
    expires = {f"expires-{clear.pk}": "2027-06-30"}
    done = as_stylist.post("/stock/delivery/", {**sheet, **expires, f"tubes-{violet.pk}": "2"})
    assert done.status_code == 302
    assert _held(line, "8 violet-blue") - before[0] == 2 * violet.tube_grams
    assert _held(line, "clear") - before[1] == 2 * clear.tube_grams
    moved = StockMovement.objects.get(batch="L-9")
    assert moved.expires_on == dt.date(2027, 6, 30)


def test_a_count_sheet_corrects_what_differs_and_leaves_what_is_empty(
    as_owner: Browser, as_stylist: Browser, line: ProductLine
) -> None:
    clear = line.shades.get(name="clear")
    other = _held(line, "8 violet-blue")

    as_owner.post("/stock/count/", {f"tubes-{clear.pk}": "1", f"grams-{clear.pk}": "12,5"})

    assert _held(line, "clear") == clear.tube_grams + Decimal("12.5")
    assert _held(line, "8 violet-blue") == other
    assert as_stylist.get("/stock/count/").status_code == 403


def test_days_left_follow_from_what_was_mixed_lately(
    as_owner: Browser, line: ProductLine, owner: Staff, now: dt.datetime
) -> None:
    clear = line.shades.get(name="clear")
    for days, grams in ((90, 40), (50, 30), (5, 30)):
        draw_stock(
            shade=clear, grams=Decimal(grams), by=owner, at=now - dt.timedelta(days=days)
        )

    page = as_owner.get("/stock/")

    (held,) = [row for row in page.context["held"] if row.shade == clear]
    assert held.used == 60
    assert held.days_left == int(held.grams), "a gram a day"
