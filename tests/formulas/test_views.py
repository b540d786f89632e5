"""The formulary's pages: they work, other salons are 404, bad input is refused in words.

Which role opens which page is held by tests/project/test_roles.py.
"""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client as Browser

from formulas import engine, selectors, services
from formulas.models import ChartEntry, ProductLine, Shade, StockMovement
from salon.models import Role, Salon, Staff
from tests.factories.formulas import LineFactory, ShadeFactory
from tests.factories.salon import StaffFactory

RECIPE = {
    "name": "Harbour",
    "kind": "acidic",
    "developer_ratio": "1.5",
    "developer_percent": "1.9",
    "processing_minutes": "20",
}
SHADE = {
    "way": "words", "level": "8", "tone": "violet-blue", "body": "strong", "swatch": "",
    "name": "", "tube_grams": "60", "tube_price": "7.20", "version": "1",
}  # fmt: skip


@pytest.fixture
def as_owner(client_for: Callable[[Staff], Browser], owner: Staff) -> Browser:
    return client_for(owner)


@pytest.fixture
def as_stylist(client_for: Callable[[Staff], Browser], stylist: Staff) -> Browser:
    return client_for(stylist)


@pytest.fixture
def shade(line: ProductLine) -> Shade:
    return line.shades.get(name="8 violet-blue")


def test_pages_open_for_a_stylist_without_the_owners_doors(
    as_stylist: Browser, line: ProductLine, shade: Shade
) -> None:
    for path in ("/lines/", f"/lines/{line.pk}/", "/stock/", f"/stock/{shade.pk}/", "/chart/"):
        page = as_stylist.get(path)

        assert page.status_code == 200, path
        assert "/edit/" not in page.text, path
        assert "/count/" not in page.text, path


def test_an_empty_salon_is_told_where_to_begin(as_owner: Browser) -> None:
    for path in ("/lines/", "/stock/", "/chart/", "/workings/"):
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


@pytest.mark.parametrize("line_id", ["0", "999999", "x", "-1", "9" * 40, ""])
def test_workings_of_a_line_that_is_not_there(
    as_stylist: Browser, line: ProductLine, line_id: str
) -> None:
    expected = 404 if line_id else 200

    assert as_stylist.get("/workings/", {"line": line_id}).status_code == expected


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


def test_a_name_stands_once_in_a_salon(as_owner: Browser, line: ProductLine) -> None:
    page = as_owner.post("/lines/new/", {**RECIPE, "name": line.name})

    assert page.status_code == 422
    assert "has this name already" in page.text


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
    assert "Every patch test for this line stops counting" in page.text

    refused = as_owner.post(path, {"version": line.data_version})
    line.refresh_from_db()
    assert refused.status_code == 422
    assert line.composition_changed_at is None

    as_owner.post(path, {"version": line.data_version, "understood": "on"})
    line.refresh_from_db()
    assert line.composition_changed_at is not None


def test_a_shade_by_words(as_owner: Browser, salon: Salon) -> None:
    line = LineFactory(salon=salon)

    as_owner.post(f"/lines/{line.pk}/shades/new/", SHADE)

    shade = line.shades.get()
    assert shade.name == "8 strong violet-blue"
    assert shade.tones == dict(engine.Shade.from_words(shade.name).tones)
    assert set(shade.tones) == {"violet", "blue"}
    line.refresh_from_db()
    assert line.data_version == 2


def test_a_shade_from_a_measured_swatch(as_owner: Browser, salon: Salon) -> None:
    line = LineFactory(salon=salon)
    swatch = "\n".join(f"{nm} {20 + nm / 50:.2f}" for nm in range(380, 731, 10))
    data = {**SHADE, "way": "measured", "swatch": swatch, "name": "8 harbour fog"}

    as_owner.post(f"/lines/{line.pk}/shades/new/", data)

    shade = line.shades.get()
    assert shade.reflectance is not None
    assert len(shade.reflectance) == 31
    assert shade.reflectance[0] == pytest.approx(0.28)
    assert as_owner.get(f"/lines/{line.pk}/").status_code == 200


def test_clear_has_no_level(as_owner: Browser, salon: Salon) -> None:
    line = LineFactory(salon=salon)

    as_owner.post(f"/lines/{line.pk}/shades/new/", {**SHADE, "way": "clear"})

    shade = line.shades.get()
    assert (shade.name, shade.level, shade.tones) == ("clear", None, {})


@pytest.mark.parametrize(
    "bad",
    [
        {"level": ""}, {"level": "0"}, {"level": "10.5"}, {"level": "7.3"}, {"level": "NaN"},
        {"tone": "mauve"}, {"tone": ""}, {"body": "mighty"}, {"way": "guess"},
        {"tube_grams": "0"}, {"tube_price": "-1"}, {"name": "x" * 61},
        {"way": "measured", "swatch": "", "name": "a"},
        {"way": "measured", "swatch": "1 2 3 4", "name": "a"},
        {"way": "measured", "swatch": "forty two", "name": "a"},
        {"way": "measured", "swatch": "200 0 0", "name": "a"},
        {"way": "measured", "swatch": "50 10 20", "name": ""},
        {"way": "measured", "swatch": " ".join(["0.5"] * 30 + ["-0.1"]), "name": "a"},
    ],
)  # fmt: skip
def test_a_shade_that_makes_no_sense_is_refused(
    as_owner: Browser, salon: Salon, bad: dict[str, str]
) -> None:
    line = LineFactory(salon=salon)

    page = as_owner.post(f"/lines/{line.pk}/shades/new/", {**SHADE, **bad})

    assert page.status_code == 422
    assert not line.shades.exists()


def test_editing_a_shade_shows_its_words_and_keeps_its_pigments(
    as_owner: Browser, line: ProductLine, shade: Shade
) -> None:
    page = as_owner.get(f"/shades/{shade.pk}/edit/")
    assert '<option value="violet-blue" selected>' in page.text

    line.refresh_from_db()
    data = {**SHADE, "body": "plain", "name": shade.name, "version": line.data_version}
    as_owner.post(
        f"/shades/{shade.pk}/edit/", {**data, "tube_price": "9.10", "is_active": "on"}
    )

    before, shade_now = shade.tones, Shade.objects.get(pk=shade.pk)
    assert shade_now.tones == before
    assert shade_now.tube_price == Decimal("9.10")


def test_a_stale_shade_is_told_apart(
    as_owner: Browser, line: ProductLine, shade: Shade, owner: Staff, now: dt.datetime
) -> None:
    data = {**SHADE, "body": "plain", "name": "mine", "version": line.data_version}
    services.change_shade(shade=shade, by=owner, at=now, name="theirs")

    page = as_owner.post(f"/shades/{shade.pk}/edit/", data)

    assert page.status_code == 409
    assert "theirs" in page.text
    assert 'value="mine"' in page.text


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
    assert "Only 120.0 g are on the shelf" in page.text
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


ENTRY = {
    "level": "7.5", "kind": "warmth", "standing": "measured",
    "lightness": "51", "green_red": "12", "blue_yellow": "33",
}  # fmt: skip


def test_a_chart_entry_is_replaced_and_put_back(as_owner: Browser, salon: Salon) -> None:
    as_owner.post("/chart/replace/", ENTRY)
    page = as_owner.get("/chart/")
    assert "measured swatch" in page.text

    restored = as_owner.post("/chart/restore/", {"level": "7.5", "kind": "warmth"}, follow=True)
    assert "own colour is back" in restored.text

    latest = selectors.chart_entries(salon_id=salon.pk)
    assert [(entry.standing, entry.lightness) for entry in latest] == [("assumed", 50.25)]
    assert ChartEntry.objects.count() == 2


def test_a_colour_set_by_eye_says_so(as_owner: Browser) -> None:
    as_owner.post("/chart/replace/", {**ENTRY, "standing": "by_eye"})

    assert "set by eye" in as_owner.get("/chart/").text


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        ({"green_red": "5", "blue_yellow": "10"}, "warm side"),
        ({"lightness": "30"}, "lighter as the level rises"),
        ({"lightness": "101"}, "less than or equal to 100"),
        ({"level": "7.25"}, "Select a valid choice"),
        ({"kind": "grey"}, "Select a valid choice"),
        ({"green_red": "NaN"}, "Enter a number"),
        ({"blue_yellow": ""}, "required"),
    ],
)
def test_a_colour_that_breaks_the_chart_is_refused(
    as_owner: Browser, bad: dict[str, str], words: str
) -> None:
    page = as_owner.post("/chart/replace/", {**ENTRY, **bad})

    assert page.status_code == 422
    assert words in page.text
    assert not ChartEntry.objects.exists()


MIX = {
    "lifted_level": "7.5", "undertone": "0", "white_percent": "0", "porosity": "0",
    "minutes": "20", "shade_1": "8 natural", "parts_1": "2",
    "shade_2": "8 strong violet-blue", "parts_2": "1",
}  # fmt: skip


def test_workings_start_from_a_mix_and_show_everything(
    as_stylist: Browser, line: ProductLine
) -> None:
    page = as_stylist.get("/workings/", {"line": line.pk})

    assert page.status_code == 200
    for words in ("Warmth left", "What moved it how far", "No mix can be here", "K/S"):
        assert words in page.text


def test_workings_answer_a_change_with_the_fragment_alone(
    as_stylist: Browser, line: ProductLine
) -> None:
    page = as_stylist.get(
        "/workings/", {"line": line.pk, **MIX}, headers={"HX-Request": "true"}
    )

    assert page.status_code == 200
    assert page.text.strip().startswith('<div id="workings"')
    assert "2 parts 8 natural, 1 part 8 strong violet-blue" in page.text
    assert "HX-Request" in page.headers["Vary"]


def test_an_empty_shelf_still_predicts_by_hand(as_stylist: Browser, salon: Salon) -> None:
    line = LineFactory(salon=salon)
    ShadeFactory(line=line, name="8 violet-blue", tones={"violet": 0.3, "blue": 0.3})

    page = as_stylist.get("/workings/", {"line": line.pk})

    assert page.status_code == 200
    assert "Receive stock" in page.text


@pytest.mark.parametrize(
    "bad",
    [
        {"lifted_level": "11"}, {"lifted_level": "NaN"}, {"undertone": "2"},
        {"white_percent": "-1"}, {"porosity": "x"}, {"minutes": "0"}, {"parts_1": "-1"},
        {"shade_1": "8 unheard"}, {"shade_2": "8 natural"}, {"parts_1": "0", "parts_2": ""},
        {"parts_1": "1e300"},
    ],
)  # fmt: skip
def test_workings_refuse_what_makes_no_sense(
    as_stylist: Browser, line: ProductLine, bad: dict[str, str]
) -> None:
    page = as_stylist.get(
        "/workings/", {"line": line.pk, **MIX, **bad}, headers={"HX-Request": "true"}
    )

    assert page.status_code == 422
    assert "Not worked out" in page.text


@pytest.mark.parametrize("path", ["/lines/", "/stock/", "/chart/", "/lines/{}/"])
def test_queries_do_not_grow_with_rows(
    client_for: Callable[[Staff], Browser],
    salon: Salon,
    now: dt.datetime,
    path: str,
    django_assert_max_num_queries,
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

    # session, user, salon; then at most: lines, shelf, choices, count, movements, chart
    with django_assert_max_num_queries(9):
        assert browser.get(path.format(line.pk)).status_code == 200
