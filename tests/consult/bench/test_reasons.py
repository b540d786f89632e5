"""Why a mix was taken is stored as codes and values; words are made for whoever reads."""

from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import translation
from django.utils.html import escape

from consult import selectors, services
from consult.agreement import planning
from consult.bench import reasons
from consult.models import Formula
from tests.factories.consult import Story

ALL = "roots,mid_lengths,ends"


@pytest.fixture
def decided(story: Story) -> Formula:
    """The first suggestion, taken by a stylist who reads German."""
    story.answer().read()
    place = story.choose(35).places.get()
    story.sign()
    visit = story.visit
    readings = selectors.readings_in_force(visit)
    with translation.override("de"):
        best = planning.ranked(visit, readings, ALL, aim=35, bowl_grams=60, at=story.at)[0]
        ids = dict(visit.line.shades.values_list("name", "pk"))
        return services.decide_formula(
            visit=visit, zones_key=ALL, source="suggested", bowl_grams=Decimal(60),
            parts={ids[name]: Decimal(n) for name, n in place.shown["chosen"]["parts"]},
            reasons=[*best.reasons, reasons.reason(reasons.STOCK_SHORT)],
            by=story.by, at=story.later(1),
        )  # fmt: skip


def test_reasons_are_read_in_the_readers_language(decided: Formula, tablet: Browser) -> None:
    stored = Formula.objects.get(pk=decided.pk)

    assert len(stored.reasons) > 2
    assert all(set(reason) == {"code", "values"} for reason in stored.reasons)
    assert all(
        set(sentence) == {"code", "values"} for sentence in stored.predicted[ALL]["sentences"]
    )
    english = [reasons.words(reason) for reason in stored.reasons]
    with translation.override("de"):
        german = [reasons.words(reason) for reason in stored.reasons]
    assert not set(english) & set(german)
    page = tablet.get(reverse("consult:formula", args=[decided.visit_id])).text
    assert f"<li>{escape(english[0])}</li>" in page.split('class="card card--key decided"')[1]


def test_an_old_row_keeps_its_words() -> None:
    assert reasons.words("Nur eine Nuance.") == "Nur eine Nuance."
