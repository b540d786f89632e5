"""Mixing arithmetic against textbook dilution tables and the weighted mean."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulas import mixing
from formulas.mixing import MixingRefused

WATER = Decimal(0)
STEP = Decimal("0.1")


def test_two_to_one_in_thirty_grams() -> None:
    weights = mixing.parts_to_grams(
        {"8 natural": 2, "8 violet-blue": 1},
        colour_grams=Decimal(30),
        scale_step=Decimal("0.1"),
    )

    assert weights.grams == (("8 natural", Decimal("20.0")), ("8 violet-blue", Decimal("10.0")))
    assert weights.error_percent == 0


def test_rounding_keeps_the_parts_and_shows_the_error() -> None:
    weights = mixing.parts_to_grams(
        {"a": 1, "b": 1, "c": 1}, colour_grams=Decimal(20), scale_step=Decimal(1)
    )

    assert len({grams for _, grams in weights.grams}) == 1
    assert weights.error_percent == 0


@given(
    parts=st.lists(st.integers(1, 6), min_size=1, max_size=3),
    colour=st.integers(20, 120),
    step=st.sampled_from(mixing.SCALE_STEPS),
)
def test_rounded_weights_are_what_a_scale_shows_and_near_what_is_wanted(
    parts: list[Decimal], colour: Decimal, step: Decimal
) -> None:
    named = {str(n): part for n, part in enumerate(parts)}

    try:
        weights = mixing.parts_to_grams(named, colour_grams=Decimal(colour), scale_step=step)
    except MixingRefused:
        assert min(parts) * Decimal(colour) / sum(parts) < step
        return

    for (name, grams), part in zip(weights.grams, parts, strict=True):
        assert grams % step == 0
        assert abs(grams - Decimal(colour) * part / sum(parts)) < step, name


@pytest.mark.parametrize("parts", [{}, {"a": 0}, {"a": -1, "b": 2}])
def test_parts_of_zero_or_below_are_refused(parts: dict[str, int]) -> None:
    with pytest.raises(MixingRefused, match="above zero"):
        mixing.parts_to_grams(parts, colour_grams=Decimal(30), scale_step=Decimal(1))


@pytest.mark.parametrize(("volumes", "percent"), [(10, 3), (20, 6), (30, 9), (40, 12)])
def test_volumes_and_percent(volumes: int, percent: int) -> None:
    """Textbooks: 10 vol 3 %, 20 vol 6 %, 30 vol 9 %, 40 vol 12 %."""
    assert mixing.volumes_to_percent(Decimal(volumes)) == percent


@pytest.mark.parametrize(
    ("from_volumes", "to_volumes", "peroxide", "water"),
    [
        (40, 30, 3, 1),
        (40, 20, 1, 1),
        (40, 10, 1, 3),
        (30, 20, 2, 1),
        (30, 10, 1, 2),
        (20, 10, 1, 1),
    ],
)
def test_dilution_with_water(
    from_volumes: int, to_volumes: int, peroxide: int, water: int
) -> None:
    """Textbook dilution tables, peroxide to water."""
    made = mixing.dilute_developer(
        stronger=mixing.volumes_to_percent(Decimal(from_volumes)),
        weaker=WATER,
        wanted=mixing.volumes_to_percent(Decimal(to_volumes)),
        grams=Decimal(60),
    )

    assert made.stronger_grams * water == made.weaker_grams * peroxide
    assert made.stronger_grams + made.weaker_grams == 60


def test_two_parts_of_40_and_one_of_10_volumes_make_30() -> None:
    """Textbook: 2 x 40 vol + 1 x 10 vol = 30 vol."""
    made = mixing.dilute_developer(
        stronger=Decimal(12), weaker=Decimal(3), wanted=Decimal(9), grams=Decimal(60)
    )

    assert (made.stronger_grams, made.weaker_grams) == (Decimal(40), Decimal(20))


@pytest.mark.parametrize(("ratio", "ready"), [("1", "3"), ("1.5", "3.6"), ("2", "4")])
def test_strength_after_mixing_a_six_percent_developer(ratio: str, ready: str) -> None:
    """Weighted mean: 6 % at 1:1 gives 3 %, at 1:1.5 3.6 %, at 1:2 4 %."""
    assert mixing.strength_after_mixing(Decimal(6), ratio=Decimal(ratio)) == Decimal(ready)


def test_more_than_twelve_percent_is_refused_with_the_rule() -> None:
    """Regulation (EC) 1223/2009, Annex III, entry 12."""
    mixing.check_peroxide(Decimal(12))

    with pytest.raises(MixingRefused, match="1223/2009"):
        mixing.check_peroxide(Decimal("12.1"))


def test_strength_outside_the_two_stocks_is_refused() -> None:
    with pytest.raises(MixingRefused, match="is not between"):
        mixing.dilute_developer(
            stronger=Decimal(6), weaker=WATER, wanted=Decimal(9), grams=Decimal(10)
        )


def test_an_over_pour_rescales_the_rest_and_takes_nothing_back() -> None:
    rescaled = mixing.rescale_after_over_pour(
        {"a": Decimal(20), "b": Decimal(10)}, {"a": Decimal(24)}, scale_step=Decimal("0.1")
    )

    assert rescaled.grams == (("a", Decimal(24)), ("b", Decimal("12.0")))
    assert rescaled.extra_grams == 6
    assert rescaled.top_up == (("a", Decimal(0)), ("b", Decimal("12.0")))


@given(
    planned=st.lists(st.integers(5, 60), min_size=1, max_size=3),
    poured=st.lists(st.integers(0, 90), min_size=1, max_size=3),
)
def test_a_top_up_is_never_negative(
    planned: dict[str, Decimal], poured: dict[str, Decimal]
) -> None:
    names = [str(n) for n in range(len(planned))]
    bowl = dict(zip(names, map(Decimal, planned), strict=True))
    scale = dict(zip(names, map(Decimal, poured), strict=False))

    rescaled = mixing.rescale_after_over_pour(bowl, scale, scale_step=Decimal("0.1"))

    assert all(grams >= 0 for _, grams in rescaled.top_up)


def test_bowl_grows_with_length_and_density() -> None:
    short = mixing.suggested_bowl_grams(["roots"], length="short")
    long = mixing.suggested_bowl_grams(
        ["roots", "mid_lengths", "ends"], length="long", density="thick"
    )

    assert Decimal(20) <= short < long
    with pytest.raises(MixingRefused):
        mixing.suggested_bowl_grams(["beard"])


def test_the_stylists_own_past_bowls_come_first() -> None:
    past = [Decimal("52.5"), Decimal(48), Decimal(61), Decimal(200)]

    assert mixing.suggested_bowl_grams(["roots"], past_grams=past) == 55
    assert mixing.suggested_bowl_grams(["roots"], past_grams=[]) == 30


def test_roots_take_as_much_whatever_the_length() -> None:
    assert mixing.suggested_bowl_grams(
        ["roots"], length="short"
    ) == mixing.suggested_bowl_grams(["roots"], length="long")


def test_the_smallest_top_up_stays_within_five_percent_and_is_smaller() -> None:
    """24 g poured for 20 g of a 2:1 mix: 11.2 g keep a third within 5 %, 12 g keep it true."""
    planned = {"a": Decimal(20), "b": Decimal(10)}

    rescaled = mixing.rescale_after_over_pour(
        planned, {"a": Decimal(24)}, scale_step=Decimal("0.1")
    )

    added = dict(rescaled.least_top_up)
    assert added["a"] == 0
    assert added["b"] == Decimal("11.2")
    assert rescaled.least_extra_grams < rescaled.extra_grams
    assert 0 < rescaled.least_error_percent <= 5


def test_a_slip_within_the_tolerance_needs_no_top_up() -> None:
    rescaled = mixing.rescale_after_over_pour(
        {"a": Decimal(20), "b": Decimal(10)},
        {"a": Decimal("20.4"), "b": Decimal(10)},
        scale_step=Decimal("0.1"),
    )

    assert all(grams == 0 for _, grams in rescaled.least_top_up)
    assert dict(rescaled.top_up) == {"a": Decimal(0), "b": Decimal("0.2")}


@given(
    planned=st.lists(st.integers(5, 60), min_size=2, max_size=3),
    poured=st.lists(st.integers(0, 90), min_size=1, max_size=3),
)
def test_the_smallest_top_up_never_costs_more_and_never_takes_back(
    planned: dict[str, Decimal], poured: dict[str, Decimal]
) -> None:
    names = [str(n) for n in range(len(planned))]
    bowl = dict(zip(names, map(Decimal, planned), strict=True))
    scale = dict(zip(names, map(Decimal, poured), strict=False))

    rescaled = mixing.rescale_after_over_pour(bowl, scale, scale_step=Decimal("0.1"))

    assert rescaled.least_extra_grams <= rescaled.extra_grams
    assert all(grams >= 0 for _, grams in rescaled.least_top_up)
    assert rescaled.least_error_percent <= mixing.over_pour.TOLERANCE_PERCENT


@pytest.mark.parametrize("odd", [Decimal("NaN"), Decimal("Infinity"), Decimal("1e9")])
def test_odd_numbers_are_refused_in_words(odd: Decimal) -> None:
    for attempt in (
        lambda: mixing.parts_to_grams({"a": odd}, colour_grams=Decimal(9), scale_step=STEP),
        lambda: mixing.parts_to_grams({"a": 1}, colour_grams=odd, scale_step=STEP),
        lambda: mixing.developer_grams(odd, ratio=Decimal(1), scale_step=STEP),
        lambda: mixing.strength_after_mixing(odd, ratio=Decimal(1)),
        lambda: mixing.check_peroxide(odd),
        lambda: mixing.dilute_developer(
            stronger=odd, weaker=WATER, wanted=Decimal(3), grams=Decimal(9)
        ),
        lambda: mixing.rescale_after_over_pour({"a": Decimal(9)}, {"a": odd}, scale_step=STEP),
    ):
        with pytest.raises(MixingRefused):
            attempt()


@pytest.mark.parametrize(
    ("strong", "strong_parts", "weak", "weak_parts", "made"),
    [(40, 3, 0, 1, 30), (40, 1, 0, 3, 10), (20, 1, 0, 1, 10), (40, 2, 10, 1, 30)],
)
def test_two_stocks_poured_together(
    strong: int, strong_parts: int, weak: int, weak_parts: int, made: int
) -> None:
    """Textbook dilution tables: 40 and water 3:1 is 30 vol; 2 x 40 and 1 x 10 is 30 vol."""
    percent = mixing.strength_of_blend(
        stronger=mixing.volumes_to_percent(Decimal(strong)),
        stronger_grams=Decimal(strong_parts),
        weaker=mixing.volumes_to_percent(Decimal(weak)),
        weaker_grams=Decimal(weak_parts),
    )

    assert mixing.percent_to_volumes(percent) == made


def test_developer_for_the_colour_as_weighed() -> None:
    assert (
        mixing.developer_grams(Decimal(21), ratio=Decimal("1.5"), scale_step=Decimal(1)) == 32
    )
    assert mixing.colour_grams_of(Decimal(60), ratio=Decimal("1.5")) == 24
