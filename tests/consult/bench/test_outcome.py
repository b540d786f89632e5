"""What a result is compared with: the bowl as poured, and without it what was decided."""

import pytest

from consult.models import ResultSeen
from tests.factories.consult import Story

ALL = "roots,mid_lengths,ends"


def _seen(story: Story) -> ResultSeen:
    story.see()
    return story.visit.results.get()


def test_it_is_the_bowl_as_poured_for_its_real_minutes(story: Story) -> None:
    story.to_bench().process(minutes=12)
    formula = story.visit.formulas.get()

    predicted = _seen(story).predicted

    assert formula.predicted[ALL]["minutes"] == 20
    assert predicted is not None
    assert predicted["minutes"] == pytest.approx(story.visit.bowls.get().minutes_on("ends"))
    assert dict(predicted["parts"]) == {
        line.shade.name: float(line.poured_grams)
        for line in story.visit.bowls.get().lines.all()
    }
    warmth = predicted["warmth_left_percent"]["value"]
    assert warmth > formula.predicted[ALL]["warmth_left_percent"]["value"]


def test_where_its_shades_left_the_line_it_is_what_was_decided(story: Story) -> None:
    """A bowl of shades that nobody can work out any more still has a promise to be held to."""
    story.to_bench().process(minutes=12)
    formula = story.visit.formulas.get()
    used = [line.shade_id for line in formula.lines.all()]
    story.visit.line.shades.filter(pk__in=used).update(is_active=False)

    predicted = _seen(story).predicted

    assert predicted is not None
    told = {name: value for name, value in predicted.items() if name != "seen_hex"}
    assert told == formula.predicted[ALL]
