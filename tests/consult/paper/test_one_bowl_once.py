"""A bowl that served several parts of the hair is printed once: the next stylist mixes it once.

Read by poppler's pdftotext, as a person reads the paper.
"""

import re
from decimal import Decimal

import pytest
from django.test import Client as Browser

from consult import services
from consult.history import histories
from consult.models import Visit
from consult.paper import content as papers
from consult.paper import pdf
from tests.consult.paper.paper_checks import words_of
from tests.factories.consult import Story, zone

ALL = "roots,mid_lengths,ends"


@pytest.fixture
def shared(story: Story) -> Visit:
    """One bowl of 80 g for two places, the ends for its last minutes; each seen by itself."""
    story.answer().read(ends=zone(porosity=Decimal("0.8")))
    choice = story.choose()
    story.sign()
    shades = {shade.name: shade.pk for shade in story.visit.line.shades.all()}
    (place, _ends) = choice.places.all()
    parts = {shades[n]: Decimal(str(part)) for n, part in place.shown["chosen"]["parts"]}
    services.decide_formula(
        visit=story.visit, zones_key=ALL, parts=parts, source="own", bowl_grams=Decimal(80),
        zone_minutes={"ends": 7}, by=story.by, at=story.later(),
    )  # fmt: skip
    (bowl,) = story.mix()
    services.start_processing(bowl=story.fresh(bowl), by=story.by, at=story.later())
    services.note_check(
        bowl=story.fresh(bowl), seen="on", zones_key="ends", mark_minutes=13,
        by=story.by, at=story.later(13),
    )  # fmt: skip
    services.end_processing(bowl=story.fresh(bowl), by=story.by, at=story.later(7))
    story.visit.refresh_from_db()
    return story.see().close()


def _grams(visit: Visit) -> list[str]:
    """Return every weight of the one bowl as it is printed."""
    bowl = visit.bowls.get()
    return [f"{w:.1f}" for w in (*(x.poured_grams for x in bowl.lines.all()),
                                 bowl.developer_grams)]  # fmt: skip


def test_two_places_share_the_bowl(shared: Visit) -> None:
    record = histories.record_of(shared)

    assert [group.zones for group in record.groups] == ["roots,mid_lengths", "ends"]
    assert [[on.is_in_full for on in group.mixed] for group in record.groups] == [
        [True], [False],
    ]  # fmt: skip


def test_the_visit_card_prints_a_shared_bowl_once(shared: Visit) -> None:
    text = words_of(pdf.printed_paper(papers.CARD, papers.visit_card(shared)))

    total = sum(map(float, _grams(shared)))
    assert text.count(f"One bowl for all of the hair, {total:.1f} g in total") == 1
    assert text.count("Developer ") == 1
    for weight in set(_grams(shared)):
        assert text.count(f" {weight} ") == _grams(shared).count(weight)
    assert "On the roots and mid-lengths 20 min" in text
    assert "On the ends 7 min" in text
    assert text.count("Same bowl as for the roots and mid-lengths: mix it once.") == 1


def test_the_small_card_names_a_shared_mix_once(shared: Visit) -> None:
    text = words_of(pdf.printed_paper(papers.SMALL_CARD, papers.visit_card(shared)))

    assert text.count("One bowl for all of the hair:") == 1
    assert text.count("mix it once") == 1
    assert len(re.findall(r"\d parts? ", text)) == shared.formulas.get().lines.count()


@pytest.mark.parametrize("paper", [papers.BENCH_CARD, papers.SMALL_BENCH_CARD])
def test_the_bench_card_prints_a_shared_bowl_once(shared: Visit, paper: pdf.Paper) -> None:
    context = papers.bench_card(shared, address="https://salon.example/visits/1/")

    text = words_of(pdf.printed_paper(paper, context))

    assert text.count("One bowl for all of the hair") == 1
    assert text.count("Developer ") == 1
    for weight in set(_grams(shared)):
        assert text.count(f" {weight} ") == _grams(shared).count(weight)
    assert text.count("mix it once") == 1


def test_separate_bowls_are_printed_each(story: Story) -> None:
    story.answer().read(ends=zone(porosity=Decimal("0.8")))
    story.choose()
    story.sign()
    story.decide()
    visit = story.process().see().close()

    text = words_of(pdf.printed_paper(papers.CARD, papers.visit_card(visit)))

    assert text.count("Developer ") == visit.bowls.count() == 2
    assert "mix it once" not in text


def test_the_visits_page_names_a_shared_bowl_once(shared: Visit, tablet: Browser) -> None:
    page = tablet.get(f"/visits/{shared.pk}/").text

    assert page.count(", developer ") == 1
    assert "Same bowl (1) as for the roots and mid-lengths" in page


def test_the_card_tells_the_developer_as_it_was_poured(story: Story) -> None:
    """Twice the colour is 1 : 2, whatever the formula asked for."""
    story.to_bench()
    (formula,) = story.visit.formulas.all()
    poured = {line.shade_id: line.grams for line in formula.lines.all()}
    developer = sum(poured.values(), Decimal(0)) * 2
    bowl = services.mix_bowl(
        visit=story.visit, formula=formula, poured=poured, developer_grams=developer,
        by=story.by, at=story.later(),
    )  # fmt: skip
    services.start_processing(bowl=story.fresh(bowl), by=story.by, at=story.later())
    services.end_processing(bowl=story.fresh(bowl), by=story.by, at=story.later(20))
    story.visit.refresh_from_db()
    visit = story.see().close()

    text = words_of(pdf.printed_paper(papers.CARD, papers.visit_card(visit)))

    assert f"1 : 2 {developer:.1f}" in text
