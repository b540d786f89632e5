"""The bench on the tablet: poured, over-poured, timed, seen, closed."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse

from consult.history import histories, line_results, looks
from consult.models import BowlMixed, Formula, Status, Visit
from salon.models import Staff
from tests.factories.consult import Story
from tests.typed import Answer, present

ALL = "roots,mid_lengths,ends"


@pytest.fixture
def ready(story: Story) -> Story:
    """A visit whose formula waits to be weighed."""
    return story.to_bench()


def _at(name: str, *args: int) -> str:
    return reverse(f"consult:{name}", args=args)


def _sheet(mix: Formula, **changes: Any) -> dict[str, Any]:
    developer = mix.developer_grams
    told: dict[str, Any] = {
        "formula": mix.pk,
        "developer_grams": developer,
        "asked-developer": developer,
    }
    for line in mix.lines.all():
        told |= {f"poured-{line.shade_id}": line.grams, f"asked-{line.shade_id}": line.grams}
    return {**told, **changes}


def _post(tablet: Browser, story: Story, address: str, data: Mapping[str, object]) -> Answer:
    version = Visit.objects.get(pk=story.visit.pk).version
    return tablet.post(address, {"version": version, **data})


def test_a_bowl_is_recorded_as_poured(ready: Story, tablet: Browser) -> None:
    formula = ready.visit.formulas.get()
    line = formula.lines.first()
    assert line is not None
    changed = {
        f"poured-{line.shade_id}": str(line.grams + Decimal("0.3")).replace(".", ","),
        f"batch-{line.shade_id}": "B-77 ü",
    }

    response = _post(tablet, ready, _at("bench", ready.visit.pk), _sheet(formula, **changed))

    assert response.status_code == 302
    poured = BowlMixed.objects.get().lines.get(shade=line.shade)
    assert (poured.poured_grams, poured.planned_grams) == (
        line.grams + Decimal("0.3"),
        line.grams,
    )
    assert poured.batch == "B-77 ü"


@pytest.mark.parametrize("grams", ["0", "-1", "", "1000", "abc", "1e400", "0.05"])
def test_a_weight_of_nonsense_is_refused(ready: Story, tablet: Browser, grams: str) -> None:
    formula = ready.visit.formulas.get()
    pk = formula.lines.first().shade_id  # type: ignore[union-attr]

    response = _post(
        tablet, ready, _at("bench", ready.visit.pk), _sheet(formula, **{f"poured-{pk}": grams})
    )

    assert response.status_code == 422
    assert not BowlMixed.objects.exists()


@pytest.mark.parametrize("formula", ["0", "x", "9" * 30])
def test_a_formula_that_does_not_stand_is_not_there(
    ready: Story, tablet: Browser, formula: str
) -> None:
    sheet = _sheet(ready.visit.formulas.get(), formula=formula)

    assert _post(tablet, ready, _at("bench", ready.visit.pk), sheet).status_code == 404
    assert _post(tablet, ready, _at("rescale", ready.visit.pk), sheet).status_code == 404


def test_an_over_pour_moves_the_lines_still_to_come(story: Story, tablet: Browser) -> None:
    """Half as much again of one shade asks for half as much again of all."""
    story.to_bench(aim=35)
    formula = story.visit.formulas.get()
    lines = list(formula.lines.all())
    assert len(lines) >= 2
    first, other = lines[0], lines[1]
    poured = (first.grams * Decimal("1.5")).quantize(Decimal("0.1"))

    response = _post(
        tablet,
        story,
        _at("rescale", story.visit.pk),
        _sheet(formula, **{f"poured-{first.shade_id}": poured}),
    )

    assert response.status_code == 200
    rescaled = response.context["sheet"].rescaled
    asked = rescaled.targets[other.shade_id].grams
    assert abs(asked - other.grams * Decimal("1.5")) <= Decimal("0.1")
    assert abs(rescaled.developer - formula.developer_grams * Decimal("1.5")) < 1
    assert f'value="{asked}"' in response.text
    assert "Too much poured" in response.text
    assert not BowlMixed.objects.exists()


def test_a_double_press_on_start_says_so_and_marks_once(ready: Story, tablet: Browser) -> None:
    (bowl,) = ready.mix()
    address = _at("start", ready.visit.pk, bowl.pk)

    _post(tablet, ready, address, {})
    again = tablet.post(
        address, {"version": Visit.objects.get(pk=ready.visit.pk).version}, follow=True
    )

    assert "already running" in again.text
    assert bowl.marks.count() == 1


def test_a_timer_survives_a_reload_and_says_when_it_was_rinsed_late(
    ready: Story, tablet: Browser, now: dt.datetime
) -> None:
    (bowl,) = ready.mix()
    with time_machine.travel(now, tick=False):
        _post(tablet, ready, _at("start", ready.visit.pk, bowl.pk), {})
        page = tablet.get(_at("bench", ready.visit.pk)).text
    assert "data-started-at=" in page
    assert 'data-minutes="20"' in page

    with time_machine.travel(now + dt.timedelta(minutes=26), tick=False):
        ended = _post(tablet, ready, _at("end", ready.visit.pk, bowl.pk), {})
        after = tablet.get(_at("bench", ready.visit.pk)).text

    assert ended.headers["Location"] == _at("result", ready.visit.pk)
    assert "Rinsed 6 minutes late." in after


def test_a_stale_start_is_told_what_changed(ready: Story, tablet: Browser) -> None:
    (bowl,) = ready.mix()

    response = tablet.post(_at("start", ready.visit.pk, bowl.pk), {"version": 1})

    assert response.status_code == 409
    assert "bowl mixed" in response.text
    assert not bowl.marks.exists()


def test_another_visits_bowl_is_not_there(ready: Story, tablet: Browser) -> None:
    assert _post(tablet, ready, _at("start", ready.visit.pk, 999), {}).status_code == 404


WHOLE = "roots-mid_lengths-ends"


def test_the_result_is_empty_and_compared_beside_the_predicted_strand(
    ready: Story, tablet: Browser
) -> None:
    ready.process()
    address = _at("result", ready.visit.pk)
    shown = tablet.get(address)
    page, form = shown.text, shown.context["form"]
    warmer = form.groups[ALL].warmth[1].step
    data = {f"{WHOLE}-depth": "0.5", f"{WHOLE}-warmth": f"{warmer:g}", "evenness": "slight"}

    response = _post(tablet, ready, address, data)

    assert "checked" not in page[page.index('id="result"') : page.index("</form>")]
    assert response.headers["Location"] == _at("card", ready.visit.pk)
    row = ready.visit.results.get()
    predicted = present(row.predicted)
    assert float(present(row.level)) == pytest.approx(
        predicted["level"]["value"] - 0.5, abs=0.051
    )
    assert row.warmth_left_percent == pytest.approx(
        predicted["warmth_left_percent"]["value"] + warmer, abs=0.51
    )
    told = histories.record_of(ready.visit).groups[0]
    assert told.warmth_drift == pytest.approx(warmer, abs=0.51)
    # The history counts only what lies beyond half a step of the strands.
    look = looks.of_visits(Visit.objects.filter(pk=ready.visit.pk))[0]
    assert look.warmth_error == pytest.approx(warmer / 2, abs=0.51)
    assert "Slightly uneven" in tablet.get(address).text


def test_not_looked_at_is_an_answer_and_teaches_nothing(
    ready: Story, tablet: Browser, owner: Staff
) -> None:
    ready.process()

    _post(tablet, ready, _at("result", ready.visit.pk), {f"{WHOLE}-unseen": "on"})
    ready.visit.refresh_from_db()
    ready.close()

    assert ready.visit.results.get().level is None
    assert histories.record_of(ready.visit).groups[0].result is None
    assert line_results.results_of(ready.visit.line) == []


def test_a_bowl_rinsed_early_is_compared_and_taught_with_its_real_minutes(
    ready: Story, tablet: Browser
) -> None:
    ready.process(minutes=1)
    _post(
        tablet,
        ready,
        _at("result", ready.visit.pk),
        {f"{WHOLE}-depth": "0", f"{WHOLE}-warmth": "0"},
    )
    ready.visit.refresh_from_db()
    ready.close()

    group = histories.record_of(ready.visit).groups[0]
    signed = group.promised["warmth_left_percent"]["value"]
    assert group.predicted["warmth_left_percent"]["value"] > signed + 5
    assert group.warmth_drift == pytest.approx(0, abs=0.51)
    assert [one.minutes for one in line_results.results_of(ready.visit.line)] == [1.0]


@pytest.mark.parametrize(
    "changes",
    [
        {f"{WHOLE}-depth": ""},
        {f"{WHOLE}-depth": "0.3"},
        {f"{WHOLE}-warmth": ""},
        {f"{WHOLE}-warmth": "warm"},
        {f"{WHOLE}-unseen": "on"},
        {"evenness": "stripy"},
        {"note": "x" * 401},
    ],
)
def test_a_result_that_nobody_saw_is_refused_at_its_field(
    ready: Story, tablet: Browser, changes: dict[str, object]
) -> None:
    ready.process()
    data = {f"{WHOLE}-depth": "0", f"{WHOLE}-warmth": "0", "evenness": "even"}

    response = _post(tablet, ready, _at("result", ready.visit.pk), {**data, **changes})

    assert response.status_code == 422
    assert "errorlist" in response.text
    assert not ready.visit.results.exists()


def test_closing_proposes_the_next_visit_and_keeps_the_date(
    ready: Story, tablet: Browser, stylist: Staff
) -> None:
    ready.process().see()
    page = tablet.get(_at("card", ready.visit.pk))
    assert "is left on hair like this after 5 weeks" in page.text
    date = page.context["form"].initial["next_visit_date"]

    response = _post(
        tablet, ready, _at("card", ready.visit.pk), {"next_visit_date": date.isoformat()}
    )

    assert response.headers["Location"] == _at("visit", ready.visit.pk)
    visit = Visit.objects.get(pk=ready.visit.pk)
    assert (visit.status, visit.next_visit_date) == (Status.CLOSED, date)


def test_the_next_visit_does_not_lie_in_the_past(ready: Story, tablet: Browser) -> None:
    ready.process().see()

    response = _post(
        tablet, ready, _at("card", ready.visit.pk), {"next_visit_date": "2020-01-01"}
    )

    assert response.status_code == 422
    assert "must be in the future" in response.text
