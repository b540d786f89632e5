import datetime as dt
import json
from decimal import Decimal

import pytest

from formulas import services, suggestion
from formulas.models import ProductLine, StockMovement
from formulas.suggestion import LastToner, ZoneInput
from salon.models import Staff

ZONE = ZoneInput(lifted_level=7.5, undertone=0.1)


@pytest.fixture
def line(owner: Staff, now: dt.datetime) -> ProductLine:
    line = services.load_demo_line(name="Tidepool", by=owner, at=now)
    for shade in line.shades.all():
        services.receive_stock(shade=shade, grams=Decimal(120), by=owner, at=now)
    return line


def test_suggestion_is_plain_data_that_names_what_it_stands_on(line: ProductLine) -> None:
    data = suggestion.suggest(line=line, zone=ZONE).as_json()

    assert json.loads(json.dumps(data)) == data
    assert data["engine_version"]
    assert data["data_version"].startswith(f"line {line.pk}.")
    assert data["evaluated"] > 400_000


def test_no_mix_lies_beyond_the_limit(line: ProductLine) -> None:
    data = suggestion.suggest(line=line, zone=ZONE).as_json()
    limit = sorted((w, d) for w, d in data["limit"])

    for mix in data["mixes"]:
        warmth = mix["warmth_left_percent"]
        below = [d for w, d in limit if w >= warmth]
        assert not below or mix["levels_deeper_looks"] >= below[0] - 0.02


def test_places_lie_on_the_mixes(line: ProductLine) -> None:
    data = suggestion.suggest(line=line, zone=ZONE).as_json()

    reachable = {mix["warmth_left_percent"] for mix in data["mixes"]}
    assert {place["warmth_left_percent"] for place in data["places"]} <= reachable


def test_a_shade_that_ran_out_is_not_suggested(
    line: ProductLine, stylist: Staff, now: dt.datetime
) -> None:
    before = suggestion.rank_for(line=line, zone=ZONE, warmth_aim=40.0)
    used = {name for mix in before for name, _ in mix["parts"]}
    for shade in line.shades.filter(name__in=used):
        services.draw_stock(shade=shade, grams=Decimal(120), by=stylist, at=now)

    after = suggestion.rank_for(line=line, zone=ZONE, warmth_aim=40.0)

    assert not used & {name for mix in after for name, _ in mix["parts"]}


def test_an_empty_shelf_says_so(owner: Staff, now: dt.datetime) -> None:
    line = services.load_demo_line(name="Slatecliff", by=owner, at=now)

    with pytest.raises(ValueError, match="grams_in_stock"):
        suggestion.suggest(line=line, zone=ZONE)


def test_prediction_follows_the_mix_and_speaks(line: ProductLine) -> None:
    little = suggestion.predict_mix(line=line, zone=ZONE, parts={"10 slight violet-blue": 1})
    much = suggestion.predict_mix(
        line=line, zone=ZONE, parts={"8 natural": 2, "8 strong violet-blue": 1}
    )

    assert little["warmth_left_percent"]["value"] > much["warmth_left_percent"]["value"]
    low, value, high = (much["levels_deeper_looks"][k] for k in ("low", "value", "high"))
    assert low < value < high
    assert all(isinstance(text, str) and text for text in much["sentences"])


def test_toner_still_present_makes_the_start_cooler(line: ProductLine) -> None:
    last = LastToner(parts=(("8 violet-blue", 1.0),), minutes=20, washes=6)
    fresh = suggestion.suggest(line=line, zone=ZONE).as_json()
    toned = suggestion.suggest(
        line=line, zone=ZoneInput(lifted_level=7.5, undertone=0.1, residual=last)
    ).as_json()

    assert toned["start"]["lab"][0] < fresh["start"]["lab"][0]


def test_own_chart_changes_the_version(
    line: ProductLine, owner: Staff, now: dt.datetime
) -> None:
    before = suggestion.versions(line)
    services.replace_chart_entry(
        by=owner, at=now, level=Decimal("7.5"), kind="warmth", standing="measured",
        lightness=50.6, green_red=11.0, blue_yellow=33.0,
    )  # fmt: skip

    assert suggestion.versions(line) != before


def test_a_chart_that_gets_darker_as_the_level_rises_is_refused(
    owner: Staff, now: dt.datetime
) -> None:
    with pytest.raises(services.ChartRefused, match="lighter as the level rises"):
        services.replace_chart_entry(
            by=owner, at=now, level=Decimal("8"), kind="warmth", standing="measured",
            lightness=30.0, green_red=8.0, blue_yellow=30.0,
        )  # fmt: skip


def test_stock_is_the_sum_of_its_movements(
    line: ProductLine, stylist: Staff, now: dt.datetime
) -> None:
    from formulas.selectors import stock_of

    shade = line.shades.first()
    assert shade
    services.draw_stock(shade=shade, grams=Decimal("12.5"), by=stylist, at=now)
    services.count_stock(shade=shade, grams=Decimal(100), by=stylist, at=now)

    assert stock_of(shade=shade) == 100
    assert StockMovement.objects.filter(shade=shade).count() == 3
