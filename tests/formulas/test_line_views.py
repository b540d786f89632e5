"""Pages of product lines: added, changed, a new composition."""

import datetime as dt
from decimal import Decimal

import pytest
from django.test import Client as Browser

from formulas import selectors, services
from formulas.models import ProductLine
from salon.models import Salon, Staff

RECIPE = {
    "name": "Harbour",
    "kind": "acidic",
    "developer_ratio": "1.5",
    "developer_percent": "1.9",
    "processing_minutes": "20",
}


def test_adding_a_line(as_owner: Browser, salon: Salon) -> None:
    page = as_owner.post("/lines/new/", RECIPE)

    added = selectors.lines(salon=salon).get()
    assert page.headers["Location"] == f"/lines/{added.pk}/"
    assert added.developer_ratio == Decimal("1.5")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", ""), ("name", "x" * 81), ("kind", "greasy"), ("developer_ratio", "0"),
        ("developer_ratio", "-1"), ("developer_ratio", "NaN"), ("developer_percent", "12.1"),
        ("developer_percent", "-3"), ("processing_minutes", "0"), ("processing_minutes", "91"),
        ("processing_minutes", "soon"),
    ],
)  # fmt: skip
def test_a_line_that_makes_no_sense_is_refused_and_kept(
    as_owner: Browser, field: str, value: str
) -> None:
    page = as_owner.post("/lines/new/", {**RECIPE, field: value})

    assert page.status_code == 422
    assert "field--invalid" in page.text
    assert not ProductLine.objects.exists()


def test_check_marks_are_kept_as_minutes(as_owner: Browser, salon: Salon) -> None:
    page = as_owner.post("/lines/new/", {**RECIPE, "check_minutes": "10; 15"})

    added = selectors.lines(salon=salon).get()
    assert added.check_minutes == [10, 15]
    assert "10, 15 min" in as_owner.get(page.headers["Location"]).text


@pytest.mark.parametrize("typed", ["6; 4", "4, 6", "6 4,0"])
def test_a_line_offers_several_developers(as_owner: Browser, salon: Salon, typed: str) -> None:
    page = as_owner.post("/lines/new/", {**RECIPE, "further_developers": typed})

    added = selectors.lines(salon=salon).get()
    assert added.developers == [Decimal("1.9"), 4, 6]
    assert "4 %, 6 %" in as_owner.get(page.headers["Location"]).text
    assert 'value="4; 6"' in as_owner.get(f"/lines/{added.pk}/edit/").text


@pytest.mark.parametrize(
    "typed", ["18", "12.1", "-3", "strong", "NaN", "1.9", "1;2;3;4;5;6;7", "1e99"]
)
def test_developers_that_may_not_go_into_the_bowl_are_refused_and_kept(
    as_owner: Browser, typed: str
) -> None:
    """At most 12 % on hair: Regulation (EC) 1223/2009, Annex III, entry 12."""
    page = as_owner.post("/lines/new/", {**RECIPE, "further_developers": typed})

    assert page.status_code == 422
    assert 'id="id_further_developers_error"' in page.text
    assert f'value="{typed}"' in page.text
    assert not ProductLine.objects.exists()


@pytest.mark.parametrize("marks", ["15, 10", "10, 10", "0", "20", "5, 99", "soon", "-5", "1e3"])
def test_check_marks_that_make_no_sense_are_refused_and_kept(
    as_owner: Browser, marks: str
) -> None:
    page = as_owner.post("/lines/new/", {**RECIPE, "check_minutes": marks})

    assert page.status_code == 422
    assert f'value="{marks}"' in page.text
    assert not ProductLine.objects.exists()


def test_a_name_stands_once_in_a_salon(as_owner: Browser, line: ProductLine) -> None:
    page = as_owner.post("/lines/new/", {**RECIPE, "name": line.name})

    assert page.status_code == 422
    assert "already has this name" in page.text


def test_the_second_of_two_owners_is_told_and_keeps_what_they_typed(
    as_owner: Browser, line: ProductLine, owner: Staff, now: dt.datetime
) -> None:
    mine = {**RECIPE, "name": line.name, "processing_minutes": "33", "is_active": "on"}
    mine["version"] = str(line.data_version)
    services.change_line(line=line, by=owner, at=now, processing_minutes=22)

    refused = as_owner.post(f"/lines/{line.pk}/edit/", mine)

    assert refused.status_code == 409
    assert 'value="33"' in refused.text
    assert ">22<" in refused.text
    line.refresh_from_db()
    assert line.processing_minutes == 22
    again = as_owner.post(f"/lines/{line.pk}/edit/", {**mine, "version": line.data_version})
    assert again.status_code == 302


def test_a_new_composition_needs_a_tick_and_says_what_follows(
    as_owner: Browser, line: ProductLine
) -> None:
    path = f"/lines/{line.pk}/composition/"
    page = as_owner.get(path)
    assert "Patch tests for this line will no longer count" in page.text

    refused = as_owner.post(path, {"version": line.data_version})
    line.refresh_from_db()
    assert refused.status_code == 422
    assert line.composition_changed_at is None

    as_owner.post(path, {"version": line.data_version, "understood": "on"})
    line.refresh_from_db()
    assert line.composition_changed_at is not None
