"""Stock that cannot fill the bowl: said before weighing, with the nearest mix in its place."""

import re
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse

from consult import selectors
from consult.agreement import planning
from consult.agreement.deviation import distance, strays
from consult.bench.swap import MOST_COMPARED, Swap
from consult.models import Formula, Visit
from consult.visit.path import Step
from formulas import services as formulary
from formulas.selectors import stock_of
from tests.factories.consult import Story, owner_of, zone
from tests.typed import Answer, present


def _leave(story: Story, grams: str, *names: str) -> None:
    """Leave so much of some shades on the shelf, as an owner counts it."""
    owner = owner_of(story.visit.salon)
    for shade in story.visit.line.shades.filter(name__in=names):
        formulary.count_stock(shade=shade, grams=Decimal(grams), by=owner, at=story.later(1))


def _bench(story: Story, formula: Formula | None = None) -> str:
    address = reverse("consult:bench", args=[story.visit.pk])
    return f"{address}?swap={formula.pk}" if formula else address


def _press(tablet: Browser, story: Story, formula: Formula, parts: str) -> Answer:
    version = Visit.objects.get(pk=story.visit.pk).version
    form = {"version": version, "formula": formula.pk, "parts": parts}
    return tablet.post(reverse("consult:swap", args=[story.visit.pk]), form)


def _shown(tablet: Browser, story: Story, formula: Formula) -> tuple[str, Swap]:
    """Return the bench with the swap of a formula, which has to be offered."""
    page = tablet.get(_bench(story, formula))
    sheet = next(s for s in page.context["sheets"] if s.formula.pk == formula.pk)
    return page.text, present(sheet.swap)


@pytest.fixture
def short(story: Story) -> Story:
    """A formula of which one shade is nearly used up."""
    formula = story.to_bench(aim=35).visit.formulas.get()
    _leave(story, "1.0", formula.lines.all()[0].shade.name)
    return story


def test_a_shortage_shows_before_weighing_and_the_bowl_can_still_be_weighed(
    short: Story, tablet: Browser
) -> None:
    formula = short.visit.formulas.get()
    line = formula.lines.all()[0]

    page = tablet.get(_bench(short)).text

    told = f"{line.shade.name}: the bowl needs {line.grams} g, and 1.0 g are left."
    assert page.index(told) < page.index('class="weigh"')
    assert "Find the nearest mix" in page
    assert "Bowl mixed" in page  # the count may be wrong, the tube is in the hand


def test_one_press_takes_the_nearest_mix_as_a_new_revision_and_stays_at_the_bench(
    short: Story, tablet: Browser
) -> None:
    first = short.visit.formulas.get()
    page, swap = _shown(tablet, short, first)
    (place,) = short.visit.choices.get().places.all()
    assert swap.strays == ""
    assert "Use this mix" in page

    answer = _press(tablet, short, first, swap.side.as_text)

    assert answer.headers["Location"] == _bench(short)
    second = short.visit.formulas.latest("revision")
    assert (second.revision, second.sign_off_id) == (2, first.sign_off_id)
    for line in second.lines.all():
        assert line.grams <= stock_of(shade=line.shade)
    assert strays(signed=place.predicted, mix=second.predicted[place.zones]) == ""
    sheet = tablet.get(_bench(short))
    assert [s.formula.pk for s in sheet.context["sheets"]] == [second.pk]
    assert "Not enough in stock" not in sheet.text
    assert short.facts.due == Step.BENCH


def test_of_the_mixes_on_the_shelf_the_one_nearest_to_the_signature_is_shown(
    short: Story, tablet: Browser
) -> None:
    first = short.visit.formulas.get()
    (place,) = short.visit.choices.get().places.all()
    _page, swap = _shown(tablet, short, first)
    offers = tablet.get(reverse("consult:formula", args=[short.visit.pk])).context["offers"]

    others = [distance(signed=place.predicted, mix=r.predicted) for r in offers[0].recipes]

    assert others
    assert swap.distance <= min(others)


def test_what_leaves_the_signature_is_signed_before_it_is_weighed(
    short: Story, tablet: Browser
) -> None:
    """Only shades that cannot give the signed place are left."""
    first = short.visit.formulas.get()
    used = [line.shade.name for line in first.lines.all()]
    kept = "8 natural"
    _leave(short, "0.5", *(n for n in _names(short) if n not in {kept, "clear"}), *used)
    _leave(short, "300", kept, "clear")
    page, swap = _shown(tablet, short, first)
    assert swap.strays
    assert "Not what the client signed." in page
    assert "Use this mix" not in page

    answer = _press(tablet, short, first, swap.side.as_text)

    assert answer.headers["Location"] == reverse("consult:sign", args=[short.visit.pk])
    assert short.visit.formulas.count() == 1
    place = short.visit.choices.latest("number").places.get()
    assert tuple(map(tuple, place.shown["chosen"]["parts"])) == swap.parts_by_name
    assert short.facts.due == Step.SIGN


def _names(story: Story) -> list[str]:
    return list(story.visit.line.shades.values_list("name", flat=True))


def test_a_shelf_that_changed_since_or_a_mix_that_was_not_shown_is_refused(
    short: Story, tablet: Browser
) -> None:
    first = short.visit.formulas.get()
    _page, swap = _shown(tablet, short, first)
    _leave(short, "0.5", *(name for name, _part in swap.parts_by_name))

    for parts in (swap.side.as_text, f"{short.visit.line.shades.get(name='clear').pk}:1"):
        answer = _press(tablet, short, first, parts)
        assert answer.status_code == 422
        assert "The stock has changed since. Look at the mix again." in answer.text
    assert short.visit.formulas.count() == 1


def test_an_empty_shelf_says_so(short: Story, tablet: Browser) -> None:
    first = short.visit.formulas.get()
    _leave(short, "0.1", *_names(short))

    page = tablet.get(_bench(short, first))

    (sheet,) = page.context["sheets"]
    assert sheet.swap is None
    assert "No other mix in today" in page.text


def test_a_second_bowl_counts_what_the_first_one_takes(story: Story, tablet: Browser) -> None:
    """Two bowls of one mix, and tubes for one and a half."""
    story.answer().read(roots=zone(lifted_level=Decimal("7.0")))
    story.choose()
    story.sign()
    first, second = story.decide()
    line = next(
        one for one in second.lines.all()
        if one.shade_id in {other.shade_id for other in first.lines.all()}
    )  # fmt: skip
    needed = first.lines.get(shade=line.shade).grams + line.grams
    _leave(story, f"{needed - 1}", line.shade.name)

    sheets = tablet.get(_bench(story)).context["sheets"]

    assert [len(sheet.shortages) for sheet in sheets] == [0, 1]
    assert sheets[1].shortages[0].is_for_another


def test_a_shared_bowl_is_swapped_whole(story: Story, tablet: Browser) -> None:
    """The mix in its place serves all of its parts, or says that they must be signed again."""
    story.answer().read(ends=zone(porosity=Decimal("0.8")))
    story.choose()
    story.sign()
    page = tablet.get(reverse("consult:formula", args=[story.visit.pk]))
    (common,) = page.context["shared"]
    _decide(story, common)
    first = story.visit.formulas.get()
    _leave(story, "0.5", first.lines.all()[0].shade.name)

    _page, swap = _shown(tablet, story, first)
    answer = _press(tablet, story, first, swap.side.as_text)

    assert [o.place.zones for o in swap.side.outcomes] == ["roots,mid_lengths", "ends"]
    wanted = "sign" if swap.strays else "bench"
    assert answer.headers["Location"] == reverse(f"consult:{wanted}", args=[story.visit.pk])
    if not swap.strays:
        assert story.visit.formulas.latest("revision").zones == first.zones


def _decide(story: Story, common: Any) -> None:
    from consult import services

    services.decide_formula(
        visit=story.visit, zones_key=common.key, parts=common.parts, source="own",
        bowl_grams=Decimal(80), zone_minutes=common.early, by=story.by, at=story.later(),
    )  # fmt: skip


def test_below_zero_is_never_shown_as_a_number(story: Story, tablet: Browser) -> None:
    """More was mixed than ever came in: only counting tells what is there."""
    formula = story.to_bench(aim=35).visit.formulas.get()
    line = formula.lines.all()[0]
    _leave(story, "1.0", line.shade.name)
    story.mix()
    assert stock_of(shade=line.shade) < 0
    story.decide()

    bench = tablet.get(_bench(story)).text
    shelves = [
        tablet.get(reverse(f"formulas:{name}", args=args)).text
        for name, args in (
            ("line", [story.visit.line_id]), ("stock", []), ("shade_stock", [line.shade_id]),
        )
    ]  # fmt: skip

    assert f"{line.shade.name}: the bowl needs {line.grams} g. Count what is there." in bench
    below = f"{-stock_of(shade=line.shade)}"
    for page in (bench, *shelves):
        assert not re.search(rf"[-\u2212]\s?{re.escape(below)}\b", page)
    assert all("count it" in page for page in shelves)


def test_a_mix_with_a_share_too_small_to_weigh_takes_no_place(
    story: Story, tablet: Browser
) -> None:
    """With no shade within practice all mixes are read, and some are for no scale."""
    formula = story.to_bench(aim=60).visit.formulas.get()
    _leave(story, "1.0", formula.lines.all()[0].shade.name)
    owner = owner_of(story.visit.salon)
    formulary.revise_practice(
        by=owner, at=story.later(), levels_below=Decimal(0), levels_above=Decimal(0)
    )
    formulary.revise_mixing_rules(by=owner, at=story.later(), least_grams=Decimal(10))
    readings = selectors.readings_in_force(story.visit)
    (place,) = formula.sign_off.choice.places.all()
    rows = planning.ranked(
        story.visit, readings, place.zones, aim=place.warmth_aim_percent,
        bowl_grams=float(formula.bowl_grams), at=story.at, count=MOST_COMPARED,
    )  # fmt: skip
    counts = [[part for _name, part in row.parts] for row in rows]
    smallest = min(min(parts) / sum(parts) for parts in counts)

    _page, swap = _shown(tablet, story, formula)

    assert 24 * 1.5 * smallest < 10  # in its 24 g of colour, and half as much again
    assert min(grams for _name, grams in swap.side.weights.grams) >= 10
