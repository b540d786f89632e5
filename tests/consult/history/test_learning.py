"""The owner: what a period cost and how it came out; strengths learned and taken back."""

import datetime as dt
import io
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, connection, transaction
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from consult.history import line_results
from formulas import engine, engine_inputs
from formulas import services as formulary
from formulas.models import ProductLine, Shade, StrengthRevision
from formulas.strength_proposal import Result, propose
from formulas.suggestion import predict_mix
from salon.models import Salon, Staff
from tests.consult.paper.pdf_ua import faults
from tests.factories.consult import opened
from tests.typed import SignIn


@pytest.fixture
def line(salon: Salon, stylist: Staff, now: dt.datetime) -> ProductLine:
    """A line that came out deeper and cooler the more of it was laid on, four times."""
    for weeks in range(4, 0, -1):
        _tell(salon, stylist, now - dt.timedelta(weeks=weeks), aim=(25, 45, 65, 85)[weeks % 4])
    return ProductLine.objects.get()


def _tell(salon: Salon, stylist: Staff, at: dt.datetime, *, aim: float = 50) -> None:
    story = opened(salon, stylist=stylist, at=at, name=f"Guest {at:%j}").to_bench(aim=aim)
    predicted = story.visit.formulas.get().predicted["roots,mid_lengths,ends"]
    taken = 100 - predicted["warmth_left_percent"]["value"]
    deeper = predicted["levels_deeper_measured"]["value"]
    story.process().see(
        level=Decimal(str(round(2 * (predicted["level"]["value"] - 0.35 * deeper)) / 2)),
        warmth_left_percent=round(predicted["warmth_left_percent"]["value"] - 0.35 * taken),
    )
    story.close()


@pytest.fixture
def stronger(line: ProductLine, monkeypatch: pytest.MonkeyPatch) -> list[Result]:
    """The same visits of five times as many clients, by a line four tenths stronger."""
    ground = engine_inputs.ground_of(line)
    assert ground.whole is not None
    strengths = dict.fromkeys(ground.whole.names, 1.4)
    results = []
    for result in line_results.results_of(line):
        seen = engine.predict(
            ground.zone(result.zone), ground.whole, dict(result.parts),
            minutes=result.minutes, strengths=strengths,
        )  # fmt: skip
        results += [
            replace(
                result,
                client=f"{result.client} {n}",
                level=seen.level.value,
                warmth_left_percent=seen.warmth_left_percent.value,
            )
            for n in range(5)
        ]
    monkeypatch.setattr(line_results, "results_of", lambda line, seen=None: results)
    return results


@pytest.fixture
def as_owner(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


def _page(line: ProductLine) -> str:
    return reverse("consult:learning", args=[line.pk])


def _compared(line: ProductLine, as_owner: Browser) -> Any:
    """Return a line's page after it was compared with its results."""
    return as_owner.post(_page(line), {"compare": "1"}, follow=True)


def test_results_carry_their_client_and_their_readers(
    line: ProductLine, stylist: Staff
) -> None:
    results = line_results.results_of(line)

    assert len({result.client for result in results}) == 4
    assert {result.reader for result in results} == {str(stylist.pk)}
    assert {result.zone_reader for result in results} == {str(stylist.pk)}


def test_shades_that_came_out_cooler_and_deeper_are_proposed_stronger(
    line: ProductLine, stronger: list[Result]
) -> None:
    proposal = propose(line=line, results=stronger)

    assert proposal.results == 20
    assert proposal.learned is not None
    assert proposal.learned.clients == 20
    assert [one.reader for one in proposal.readers] == [str(Staff.objects.get().pk)]
    assert proposal.is_better
    assert max(one.proposed for one in proposal.shades) > 1.1
    assert all(one.low <= one.proposed <= one.high for one in proposal.shades)
    assert set(Shade.objects.values_list("strength", flat=True)) == {1.0}  # nothing applied


def test_an_owner_accepts_and_takes_back(
    line: ProductLine, stronger: list[Result], as_owner: Browser, owner: Staff
) -> None:
    page = _compared(line, as_owner)
    proposal, version = page.context["proposal"], line.data_version
    assert "Use these strengths" in page.text

    as_owner.post(_page(line), {"key": proposal.key})

    line.refresh_from_db()
    assert line.data_version == version + 1
    assert line.doubts == proposal.doubts
    doubts = engine_inputs.ground_of(line).doubts
    assert doubts.line == 0.0
    assert set(doubts.shades) == {one.name for one in proposal.shades}
    for one in proposal.shades:
        assert Shade.objects.get(pk=one.pk).strength == one.proposed
    assert "the line was changed" in as_owner.get(_page(line)).text
    after = _compared(line, as_owner)
    assert "Use these strengths" not in after.text
    # What was promised for them is still what is told: clients left out, before and after.
    assert after.context["proposal"].after == proposal.after
    assert after.context["proposal"].unlearned == proposal.unlearned
    as_owner.post(_page(line), {"back": "1"})
    assert set(Shade.objects.values_list("strength", flat=True)) == {1.0}
    line.refresh_from_db()
    assert line.doubts == {}
    assert [row.is_taken_back for row in line.strength_revisions.all()] == [True, False]
    with pytest.raises(formulary.StrengthsRefused):
        formulary.take_strengths_back(line=line, by=owner, at=dt.datetime.now(dt.UTC))


def test_the_page_says_whose_the_error_is_and_how_each_person_reads(
    line: ProductLine, as_owner: Browser, stylist: Staff
) -> None:
    page = _compared(line, as_owner)

    findings = page.context["findings"]
    assert sum(share.depth_percent for share in findings.shares) == pytest.approx(100)
    assert sum(share.warmth_percent for share in findings.shares) == pytest.approx(100)
    assert [(reader.name, reader.reads.habit.results) for reader in findings.readers] == [
        (stylist.display_name, 4)
    ]
    assert "How each person reads" in page.text


def test_results_that_only_narrow_ranges_are_offered_as_ranges(
    line: ProductLine, owner: Staff, now: dt.datetime
) -> None:
    results = [
        replace(
            result,
            client=f"{result.client} {n}",
            level=told["level"]["value"],
            warmth_left_percent=told["warmth_left_percent"]["value"],
        )
        for result in line_results.results_of(line)
        for told in [predict_mix(line=line, zone=result.zone, parts=dict(result.parts))]
        for n in range(10)
    ]

    proposal = propose(line=line, results=results)

    assert not proposal.is_better
    assert proposal.changes_ranges
    assert proposal.ranges.depth_factor < 0.9
    formulary.accept_strengths(line=line, proposal=proposal, by=owner, at=now)
    assert set(Shade.objects.values_list("strength", flat=True)) == {1.0}
    assert engine_inputs.ground_of(line).doubts.depth_factor < 0.9


def test_what_is_learned_goes_out_as_csv_and_agrees_with_the_page(
    stronger: list[Result], line: ProductLine, as_owner: Browser
) -> None:
    page = _compared(line, as_owner).text
    sent = as_owner.post(reverse("consult:learning_csv", args=[line.pk])).content.decode()

    rows = [row.split(",") for row in sent.strip().splitlines()[1:]]
    assert rows
    for name, _results, now, proposed, *_ranges in rows:
        assert name in page
        assert now in page
        assert proposed in page


def test_what_is_learned_prints_every_table_of_the_page(
    stronger: list[Result], line: ProductLine, as_owner: Browser, stylist: Staff
) -> None:
    assert reverse("consult:learning_pdf", args=[line.pk]) in _compared(line, as_owner).text

    sent = as_owner.post(reverse("consult:learning_pdf", args=[line.pk])).content

    pages = PdfReader(io.BytesIO(sent)).pages
    words = " ".join(" ".join(page.extract_text() for page in pages).split())
    for said in (
        "How far predictions were off", "Where the differences come from",
        "How each person reads", "How wide predictions are", stylist.display_name,
    ):  # fmt: skip
        assert said in words
    for shade in propose(line=line, results=stronger).used:
        assert f"{shade.name} {shade.results} {shade.now:.2f} {shade.proposed:.2f}" in words
    assert faults(sent) == []


def test_what_was_not_shown_is_not_accepted(line: ProductLine, as_owner: Browser) -> None:
    response = as_owner.post(_page(line), {"key": "0" * 16})

    assert response.status_code == 409
    assert not StrengthRevision.objects.exists()


def test_too_few_results_change_nothing(
    salon: Salon, stylist: Staff, now: dt.datetime, as_owner: Browser, owner: Staff
) -> None:
    _tell(salon, stylist, now - dt.timedelta(weeks=1))
    line = ProductLine.objects.get()
    page = _compared(line, as_owner)

    assert "Too few results" in page.text
    with pytest.raises(formulary.StrengthsRefused):
        formulary.accept_strengths(
            line=line, proposal=page.context["proposal"], by=owner, at=now
        )


def test_only_an_owner_accepts(line: ProductLine, stylist: Staff, now: dt.datetime) -> None:
    proposal = propose(line=line, results=line_results.results_of(line))

    with pytest.raises(PermissionDenied):
        formulary.accept_strengths(line=line, proposal=proposal, by=stylist, at=now)


def test_revisions_number_once(
    line: ProductLine, stronger: list[Result], owner: Staff, now: dt.datetime
) -> None:
    proposal = propose(line=line, results=stronger)
    row = formulary.accept_strengths(line=line, proposal=proposal, by=owner, at=now)
    told = {
        "line": line, "strengths": {}, "earlier": {}, "results": 1, "engine_version": "2",
        "data_version": 1, "accepted_at": now, "accepted_by": owner,
    }  # fmt: skip

    for number in (row.number, 0):
        with pytest.raises(IntegrityError), transaction.atomic():
            StrengthRevision.objects.create(number=number, **told)


def test_the_pages_do_not_ask_more_with_more_visits(
    line: ProductLine, salon: Salon, stylist: Staff, now: dt.datetime, as_owner: Browser
) -> None:
    def count(address: str) -> int:
        with CaptureQueriesContext(connection) as captured:
            as_owner.get(address)
        return len(captured)

    before = [count(_page(line)), count(reverse("consult:histories"))]
    _tell(salon, stylist, now - dt.timedelta(days=3))

    assert [count(_page(line)), count(reverse("consult:histories"))] == before
