import datetime as dt
import json
import re
from decimal import Decimal
from pathlib import Path

import pytest
from pytest_django import DjangoAssertNumQueries

from formulas import engine, engine_sentences, services, suggestion
from formulas.engine.cli.command import main
from formulas.mixing import MixingRefused
from formulas.models import ProductLine, StockMovement
from formulas.suggestion import LastToner, ZoneInput
from salon.models import Staff

ZONE = ZoneInput(lifted_level=7.5, undertone=0.1)


def test_suggestion_is_plain_data_that_names_what_it_stands_on(line: ProductLine) -> None:
    data = suggestion.suggest(line=line, zone=ZONE)

    assert json.loads(json.dumps(data.start)) == data.start
    for mix in data.mixes:
        pairs = [list(pair) for pair in mix["parts"]]
        assert json.loads(json.dumps(mix)) == {**mix, "parts": pairs}
    assert data.engine_version
    assert data.data_version.startswith(f"line {line.pk}.")
    assert data.evaluated > 400_000


def test_no_mix_lies_beyond_the_limit(line: ProductLine) -> None:
    data = suggestion.suggest(line=line, zone=ZONE)
    limit = sorted((w, d) for w, d in data.limit)

    for mix in data.mixes:
        warmth = mix["warmth_left_percent"]
        below = [d for w, d in limit if w >= warmth]
        assert not below or mix["levels_deeper_looks"] >= below[0] - 0.02


def test_places_lie_on_the_mixes(line: ProductLine) -> None:
    data = suggestion.suggest(line=line, zone=ZONE)

    reachable = {mix["warmth_left_percent"] for mix in data.mixes}
    assert {place["warmth_left_percent"] for place in data.places} <= reachable


def test_a_shade_that_ran_out_is_not_suggested(
    line: ProductLine, stylist: Staff, now: dt.datetime
) -> None:
    before = suggestion.rank_for(line=line, zone=ZONE, warmth_aim=40.0)
    used = {name for mix in before for name, _ in mix.parts}
    for shade in line.shades.filter(name__in=used):
        services.draw_stock(shade=shade, grams=Decimal(120), by=stylist, at=now)

    after = suggestion.rank_for(line=line, zone=ZONE, warmth_aim=40.0)

    assert not used & {name for mix in after for name, _ in mix.parts}


@pytest.mark.parametrize(
    ("zone", "words"),
    [
        (ZoneInput(lifted_level=8.0), ["--level", "8"]),
        (
            ZoneInput(lifted_level=9.0, undertone=-0.5, porosity=1.0),
            ["--level", "9", "--undertone", "-0.5", "--porosity", "high"],
        ),
    ],
)
def test_screen_and_command_line_offer_the_same(
    line: ProductLine, zone: ZoneInput, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["suggest", *words, "--json"]) == 0

    printed = json.loads(capsys.readouterr().out)["places"]
    screen = suggestion.suggest(line=line, zone=zone)
    assert [mix.as_data() for mix in screen.named] == printed
    drawn = {json.dumps(mix["parts"]): mix for mix in screen.mixes}
    for place in printed:
        mix = drawn[json.dumps([list(part) for part in place["parts"].items()])]
        assert mix["warmth_left_percent"] == round(place["warmth_left_percent"]["value"], 2)
        assert mix["why"]


def test_the_short_list_leads_with_what_the_choice_showed(line: ProductLine) -> None:
    for mix in suggestion.suggest(line=line, zone=ZONE).mixes[::4]:
        first = suggestion.rank_for(
            line=line, zone=ZONE, warmth_aim=mix["warmth_left_percent"], k=3
        )[0]
        assert first.parts == mix["parts"]
        assert engine_sentences.of_stored(first.reasons[0]) == mix["why"]


def test_an_empty_shelf_says_so(owner: Staff, now: dt.datetime) -> None:
    line = services.load_demo_line(name="Slatecliff", by=owner, at=now)

    with pytest.raises(suggestion.ShelfTooEmpty, match="Receive stock"):
        suggestion.suggest(line=line, zone=ZONE)


def test_prediction_follows_the_mix_and_speaks(line: ProductLine) -> None:
    little = suggestion.predict_mix(line=line, zone=ZONE, parts={"10 slight violet-blue": 1})
    much = suggestion.predict_mix(
        line=line, zone=ZONE, parts={"8 natural": 2, "8 strong violet-blue": 1}
    )

    assert little["warmth_left_percent"]["value"] > much["warmth_left_percent"]["value"]
    deeper = much["levels_deeper_looks"]
    assert deeper["low"] < deeper["value"] < deeper["high"]
    assert all(engine_sentences.of_stored(stored) for stored in much["sentences"])


def test_toner_still_present_makes_the_start_cooler(line: ProductLine) -> None:
    last = LastToner(parts=(("8 violet-blue", 1.0),), minutes=20, washes=6)
    fresh = suggestion.suggest(line=line, zone=ZONE)
    toned = suggestion.suggest(
        line=line, zone=ZoneInput(lifted_level=7.5, undertone=0.1, residual=last)
    )

    assert toned.start["lab"][0] < fresh.start["lab"][0]


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
            by=owner, at=now, level=Decimal(8), kind="warmth", standing="measured",
            lightness=30.0, green_red=8.0, blue_yellow=30.0,
        )  # fmt: skip


def test_stock_is_the_sum_of_its_movements(
    line: ProductLine, stylist: Staff, owner: Staff, now: dt.datetime
) -> None:
    from formulas.selectors import stock_of

    shade = line.shades.first()
    assert shade
    services.draw_stock(shade=shade, grams=Decimal("12.5"), by=stylist, at=now)
    services.count_stock(shade=shade, grams=Decimal(100), by=owner, at=now)

    assert stock_of(shade=shade) == 100
    assert StockMovement.objects.filter(shade=shade).count() == 3


def test_ranges_along_the_trade_off_are_those_of_predictions(line: ProductLine) -> None:
    mixes = suggestion.suggest(line=line, zone=ZONE).mixes

    for mix in mixes[::5]:
        told = suggestion.predict_mix(line=line, zone=ZONE, parts=dict(mix["parts"]))
        deeper, warmth = told["levels_deeper_looks"], told["warmth_left_percent"]
        assert mix["deeper_low"] == pytest.approx(deeper["low"], abs=0.01)
        assert mix["deeper_high"] == pytest.approx(deeper["high"], abs=0.01)
        assert mix["warmth_low"] == pytest.approx(warmth["low"], abs=0.01)
        assert mix["warmth_high"] == pytest.approx(warmth["high"], abs=0.01)


def test_drawn_mixes_run_from_warm_to_cool_and_are_few(line: ProductLine) -> None:
    mixes = suggestion.suggest(line=line, zone=ZONE).mixes

    warmth = [mix["warmth_left_percent"] for mix in mixes]
    assert warmth == sorted(warmth, reverse=True)
    assert 12 < len(mixes) <= 31


def test_a_retired_shade_is_not_suggested_yet_its_last_toner_counts(
    line: ProductLine, owner: Staff, now: dt.datetime
) -> None:
    last = LastToner(parts=(("8 violet-blue", 1.0),), minutes=20, washes=2)
    zone = ZoneInput(lifted_level=7.5, residual=last)
    before = suggestion.suggest(line=line, zone=zone)
    shade = line.shades.get(name="8 violet-blue")
    services.change_shade(shade=shade, by=owner, at=now, is_active=False)

    after = suggestion.suggest(line=line, zone=zone)

    assert after.start == before.start
    assert all(n != "8 violet-blue" for mix in after.mixes for n, _ in mix["parts"])


def test_a_learned_strength_deepens_the_prediction(line: ProductLine) -> None:
    before = suggestion.predict_mix(line=line, zone=ZONE, parts={"8 violet-blue": 1})
    line.shades.filter(name="8 violet-blue").update(strength=1.4)

    after = suggestion.predict_mix(line=line, zone=ZONE, parts={"8 violet-blue": 1})

    deeper = after["levels_deeper_looks"]
    assert deeper["value"] > before["levels_deeper_looks"]["value"]


def test_stock_is_counted_in_steps_that_never_promise_too_much() -> None:
    from formulas.engine_inputs import usable_stock

    coarse = usable_stock({"a": 23.9, "b": 130.0, "c": 5000.0, "d": 0.0}, bowl_colour_grams=24)

    assert coarse == {"a": 23.0, "b": 120.0, "c": 240.0, "d": 0.0}


@pytest.mark.parametrize("grams", [0, -5, float("nan"), 1e9])
def test_an_impossible_bowl_is_refused(line: ProductLine, grams: float) -> None:
    with pytest.raises(MixingRefused, match="1000"):
        suggestion.suggest(line=line, zone=ZONE, bowl_grams=grams)


def test_four_questions_to_the_database_are_enough(
    line: ProductLine, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    # Shades with stock; the salon's chart entries; its practice; its rules of mixing.
    with django_assert_num_queries(4):
        suggestion.suggest(line=line, zone=ZONE)
    with django_assert_num_queries(2):  # practice is read once for a line
        suggestion.suggest(line=line, zone=ZONE)


def test_every_sentence_of_the_engine_has_its_words() -> None:
    folder = Path(engine.__file__).parent
    codes = {
        code
        for path in folder.rglob("*.py")
        for code in re.findall(r'Sentence\(\s*"(\w+)"', path.read_text())
    }

    assert codes
    assert {code for code in codes if not engine_sentences.in_words(code, VALUES)} == set()


VALUES: dict[str, float | str] = {
    "share": 0.4, "percent": 3, "levels": 0.4, "minutes": 20, "cast": 5, "warmth": -12,
    "deeper": 1, "bowls": 3, "cost": 4.2, "shades": 2,
    "visits": 2, "zone": "ends", "clear_parts": 1.5,
}  # fmt: skip
