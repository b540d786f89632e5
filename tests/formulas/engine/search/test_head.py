"""One head: zones follow a common colour, as light as can be, in as few bowls as can be."""

import json
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest

from formulas import engine
from formulas.engine.cli.command import main
from formulas.engine.light.colorimetry import delta_e_2000
from formulas.engine.search import common, members
from formulas.engine.search.clouds import LEAST_SHARE, even_coordinates
from tests.formulas.engine.lines_for_tests import LINE, SMALL

ZONES = {"roots": engine.Zone(7.5, natural_level=5), "ends": engine.Zone(9, porosity=0.5)}


def offers_of(
    zones: Mapping[str, engine.Zone], line: engine.Line = LINE, **how: Any
) -> dict[str, engine.Offer]:
    return {name: engine.offer(zone, line, **how) for name, zone in zones.items()}


@pytest.fixture(scope="module")
def head() -> engine.Head:
    return engine.head_of(offers_of(ZONES))


def brute_force(head: engine.Head, warmth: float) -> tuple[float, float, int]:
    """Return the best common colour's L*, its largest difference and the fewest bowls.

    Every mix against every common colour, by colour-science's CIEDE2000 alone.
    """
    lightness = np.repeat(common.LIGHTNESSES, len(common.CASTS))
    cast = np.tile(common.CASTS, len(common.LIGHTNESSES))
    lab = head.judge.lab_at(lightness=lightness, warmth_percent=warmth, cast=cast)
    mixes = {
        name: one.within.read(one.within.pool.rows[one.within.pool.lightness > -np.inf])
        for name, one in head.offers.items()
    }
    tables = {
        name: delta_e_2000(lab[:, None], np.array([mix.lab for mix in read])[None])
        for name, read in mixes.items()
    }
    worst = np.max([table.min(axis=1) for table in tables.values()], axis=0)
    even = worst <= members.EVEN
    steps = np.where(even, 0.0, np.ceil(worst / 0.25 - 1e-9))
    best = np.lexsort([worst, -lightness, steps])[0]
    suiting = []
    for name, table in tables.items():
        most = max(members.EVEN, table[best].min() + 0.01)
        suiting.append({mixes[name][n].parts for n in np.flatnonzero(table[best] <= most)})
    shares = bool(set.intersection(*suiting))
    return float(lightness[best]), float(worst[best]), 1 if shares else len(suiting)


@pytest.mark.parametrize(
    "levels", [(8.0, 8.25), (7.5, 9.0), (6.0, 9.5)], ids=["near", "apart", "far apart"]
)
def test_brute_force_finds_no_better_head(levels: tuple[float, float]) -> None:
    zones = {f"zone {n}": engine.Zone(level) for n, level in enumerate(levels)}
    found = engine.head_of(offers_of(zones, SMALL, max_parts=3), steps=2)

    for place in found.places:
        lightness, worst, bowls = brute_force(found, place.warmth_left_percent)

        assert place.lab[0] == pytest.approx(lightness)
        assert len(place.bowls) == bowls
        assert place.largest_difference <= max(members.EVEN, worst + 0.011)


@pytest.mark.parametrize("levels", [(7.5, 9.0), (6.0, 9.5), (2.0, 10.0)])
def test_looking_near_first_finds_what_looking_everywhere_does(
    levels: tuple[float, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    offers = offers_of({f"{level:g}": engine.Zone(level) for level in levels}, SMALL)
    deeper = {"9": 0.5}
    how = {name: levels for name, levels in deeper.items() if name in offers}
    near = engine.head_of(offers, deeper=how)

    monkeypatch.setattr(common, "_REACHES", ())
    everywhere = engine.head_of(offers, deeper=how)

    assert [place.lab for place in near.along] == [place.lab for place in everywhere.along]
    assert [place.bowls for place in near.along] == [place.bowls for place in everywhere.along]


def test_the_same_place_is_one_colour(head: engine.Head) -> None:
    """Each zone by its own percentages ends unlike the other; the head does not."""
    roots, ends = head.offers.values()
    apart = [
        float(delta_e_2000(one.mix.lab, other.mix.lab))
        for one, other in zip(roots.places, ends.places, strict=True)
    ]

    assert min(apart) > 4
    for place in head.places:
        labs = [zone.offered.mix.lab for zone in place.zones.values()]
        assert float(delta_e_2000(*labs)) <= 2 * members.EVEN


def test_along_the_head_cooler_is_never_lighter(head: engine.Head) -> None:
    """Common practice, no source: the cooler the result, the deeper it looks."""
    between = [place for place in head.along if not place.key]
    warmth = [place.warmth_left_percent for place in head.along]
    deeper = [place.levels_deeper_looks for place in between]

    assert warmth == sorted(warmth, reverse=True)
    assert deeper == sorted(deeper)
    assert [place.key for place in head.places] == ["bright", "between", "cool"]


def test_the_zone_that_costs_most_holds_the_whole(head: engine.Head) -> None:
    """As light as the roots allow, no lighter: they give what they would give alone."""
    for place in head.places:
        assert place.held_by == "roots"
        assert place.zones["roots"].deeper_for_the_whole < 0.15
        assert place.zones["ends"].deeper_for_the_whole > 0.5


def test_alike_zones_share_one_bowl() -> None:
    zones = {name: engine.Zone(8) for name in ("roots", "mid_lengths", "ends")}
    found = engine.head_of(offers_of(zones), steps=2)

    for place in found.places:
        assert place.bowls == (("roots", "mid_lengths", "ends"),)
        assert len({zone.offered.mix.parts for zone in place.zones.values()}) == 1


def test_deeper_roots_are_a_wish_in_levels() -> None:
    zones = {"roots": engine.Zone(8), "ends": engine.Zone(8)}
    found = engine.head_of(offers_of(zones), deeper={"roots": 1.0}, steps=4)

    for place in found.places:
        roots, ends = (zone.offered.mix for zone in place.zones.values())
        deeper = roots.levels_deeper_measured - ends.levels_deeper_measured
        assert deeper == pytest.approx(1.0, abs=0.35)
        assert place.is_even


def test_a_wanted_level_sets_the_depth_of_the_whole() -> None:
    found = engine.head_of(offers_of(ZONES, wanted_level=5.5), steps=4)

    for place in found.places[:2]:
        assert place.held_by is None
        level = float(found.judge.looks_level(np.array(place.lab)))
        assert level == pytest.approx(5.5, abs=0.2)


def test_the_order_of_the_zones_changes_nothing() -> None:
    one = engine.head_of(offers_of(ZONES, SMALL), steps=2)
    other = engine.head_of(offers_of(dict(reversed(ZONES.items())), SMALL), steps=2)

    for place, again in zip(one.along, other.along, strict=True):
        assert place.lab == again.lab
        assert {n: z.offered.mix for n, z in place.zones.items()} == {
            n: z.offered.mix for n, z in again.zones.items()
        }


def test_even_coordinates_never_hide_a_nearer_mix() -> None:
    """CIEDE2000 of colour-science against the bound that the search rests on."""
    dice = np.random.default_rng(5)
    chroma, hue = dice.uniform(0, 45, 60_000), np.radians(dice.uniform(20, 110, 60_000))
    one = np.stack(
        [dice.uniform(8, 80, 60_000), chroma * np.cos(hue), chroma * np.sin(hue)], axis=1
    )
    other = one + dice.normal(size=one.shape) * dice.choice([0.3, 1, 4], (60_000, 1))
    away = np.linalg.norm(even_coordinates(one) - even_coordinates(other), axis=1)

    assert np.all(delta_e_2000(one, other) >= LEAST_SHARE * away)


def test_it_refuses_what_makes_no_head() -> None:
    offered = offers_of({"roots": engine.Zone(8)}, SMALL)

    with pytest.raises(ValueError, match="zones"):
        engine.head_of({})
    with pytest.raises(ValueError, match="deeper of roots"):
        engine.head_of(offered, deeper={"roots": 4})


def test_the_command_takes_zones_as_words_or_json(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--zone", "roots", "level=7.5", "natural=5", "deeper=0.5"]
    as_json = ["--zone", '{"name": "ends", "level": 9, "porosity": "high"}']

    assert main(["suggest", *words, *as_json, "--json"]) == 0
    places = json.loads(capsys.readouterr().out)["places"]
    assert [place["key"] for place in places] == ["bright", "between", "cool"]
    for place in places:
        assert set(place["zones"]) == {"roots", "ends"}
        assert place["zones"]["roots"]["parts"]
        assert place["zones"]["ends"]["difference_de00"] <= place["largest_difference_de00"]
    assert main(["suggest", *words]) == 0
    assert "roots: " in capsys.readouterr().out


@pytest.mark.parametrize(
    "wrong",
    [
        ["--zone", "roots"],
        ["--zone", "roots", "level=x"],
        ["--zone", "roots", "lift=8"],
        ["--zone", "roots", "level"],
        ["--zone", "{"],
        ["--zone", '{"level": 8}'],
        ["--zone", "a", "level=8", "--zone", "a", "level=9"],
        [],
    ],
)
def test_the_command_says_what_is_wrong_with_a_zone(
    wrong: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["suggest", *wrong]) == 2
    assert "zone" in capsys.readouterr().err
