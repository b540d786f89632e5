"""An invented line says so before the choice and on every paper, and asks its owner once."""

import datetime as dt

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client as Browser
from django.urls import reverse

from clients.models import PatchTest
from consult.models import Visit
from consult.paper import content as papers
from consult.paper import pdf
from formulas import services
from formulas.models import InventedAnswer, ProductLine
from salon.models import AuditEvent, Staff
from tests.consult.paper.paper_checks import words_of
from tests.factories.consult import Story
from tests.typed import SignIn

SAYS = "Invented line."
ASKS = "Is Tidepool your own line?"


@pytest.fixture
def invented(story: Story) -> Story:
    """The visit's line has the demo's values."""
    ProductLine.objects.filter(pk=story.visit.line_id).update(is_starting_point=True)
    story.visit.line.refresh_from_db()
    return story


@pytest.fixture
def laptop(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


def _papers(visit: Visit) -> dict[str, str]:
    """Return the words of every paper that names the visit's line."""
    card = papers.visit_card(visit)
    bench = papers.bench_card(visit, address="https://salon.example/visits/1/")
    sheet = papers.sign_off_sheet(visit.sign_offs.get())
    test = PatchTest.objects.filter(client=visit.client, line=visit.line).first()
    assert test is not None
    return {
        "card": words_of(pdf.printed_paper(papers.CARD, card)),
        "small card": words_of(pdf.printed_paper(papers.SMALL_CARD, card)),
        "bench card": words_of(pdf.printed_paper(papers.BENCH_CARD, bench)),
        "small bench card": words_of(pdf.printed_paper(papers.SMALL_BENCH_CARD, bench)),
        "sign-off": words_of(pdf.printed_paper(papers.SIGN_OFF, sheet)),
        "small sign-off": words_of(pdf.printed_paper(papers.SMALL_SIGN_OFF, sheet)),
        "slip": words_of(pdf.printed_paper(papers.SLIP, papers.patch_slip(test))),
    }


def test_it_is_said_before_the_choice_to_stylist_and_client(
    invented: Story, tablet: Browser
) -> None:
    invented.answer().read()
    visit = invented.visit.pk

    assert SAYS in tablet.get(reverse("consult:choice", args=[visit])).text
    tablet.post(reverse("consult:hand_over", args=[visit]))
    assert SAYS in tablet.get(reverse("consult:client_choice", args=[visit])).text


def test_a_line_of_ones_own_says_nothing(story: Story) -> None:
    card = papers.visit_card(story.to_end())

    assert SAYS not in words_of(pdf.printed_paper(papers.CARD, card))


def test_every_paper_says_so_and_signed_ones_keep_saying_so(
    invented: Story, tablet: Browser, owner: Staff
) -> None:
    visit = invented.to_end()

    assert [name for name, words in _papers(visit).items() if SAYS not in words] == []
    test = PatchTest.objects.get(client=visit.client)
    assert SAYS in tablet.get(reverse("clients:patch_slip", args=[test.pk])).text

    services.answer_invented(
        line=visit.line, answer=InventedAnswer.OWN, by=owner, at=invented.at
    )

    # What was signed for while the line was invented still says so.
    visit = Visit.objects.get(pk=visit.pk)
    silent = [name for name, words in _papers(visit).items() if SAYS not in words]
    assert silent == ["slip"]


def test_the_demos_lines_are_marked(owner: Staff, now: dt.datetime) -> None:
    for name in ("Tidepool", "Slatecliff"):
        assert services.load_demo_line(name=name, by=owner, at=now).is_starting_point


def test_the_owner_is_asked_once_and_the_answer_is_kept(
    invented: Story, laptop: Browser, owner: Staff
) -> None:
    line = invented.visit.line
    pages = [reverse("formulas:lines"), reverse("formulas:line", args=[line.pk]),
             reverse("consult:histories")]  # fmt: skip
    for page in pages:
        assert ASKS in laptop.get(page).text, page

    laptop.post(reverse("formulas:answer_invented", args=[line.pk]), {"answer": "known"})

    line.refresh_from_db()
    assert (line.invented_answer, line.is_starting_point) == ("known", True)
    for page in pages:
        assert ASKS not in laptop.get(page).text, page
    assert "these are the demo" in laptop.get(pages[1]).text  # and when it was answered
    event = AuditEvent.objects.get(kind="invented line answered")
    assert (event.actor_id, event.target_id) == (owner.pk, str(line.pk))
    assert event.detail == {"answer": "known"}


def test_one_who_says_it_is_their_own_loses_the_mark(invented: Story, laptop: Browser) -> None:
    line = invented.visit.line

    laptop.post(reverse("formulas:answer_invented", args=[line.pk]), {"answer": "own"})

    line.refresh_from_db()
    assert (line.invented_answer, line.is_starting_point) == ("own", False)
    assert "invented" not in laptop.get(reverse("formulas:lines")).text


@pytest.mark.parametrize("answer", ["", "perhaps"])
def test_another_answer_is_none(invented: Story, laptop: Browser, answer: str) -> None:
    line = invented.visit.line

    page = laptop.post(
        reverse("formulas:answer_invented", args=[line.pk]), {"answer": answer}, follow=True
    )

    assert "Choose one of the two answers." in page.text
    line.refresh_from_db()
    assert (line.invented_answer, line.is_starting_point) == ("", True)


def test_nobody_but_the_owner_answers_or_is_asked(invented: Story, tablet: Browser) -> None:
    line = invented.visit.line

    assert ASKS not in tablet.get(reverse("formulas:line", args=[line.pk])).text
    answer = tablet.post(reverse("formulas:answer_invented", args=[line.pk]), {"answer": "own"})
    assert answer.status_code == 403
    with pytest.raises(PermissionDenied):
        services.answer_invented(
            line=line, answer=InventedAnswer.OWN, by=invented.by, at=invented.at
        )


def test_ticked_by_hand_it_counts_as_the_answer(invented: Story, owner: Staff) -> None:
    line = invented.visit.line

    services.change_line(line=line, is_starting_point=False, by=owner, at=invented.at)
    assert line.invented_answer == InventedAnswer.OWN

    services.change_line(line=line, is_starting_point=True, by=owner, at=invented.at)
    assert line.invented_answer == InventedAnswer.KNOWN
    assert not line.asks_if_invented


def test_what_needs_the_owner_stands_above_that_question(
    invented: Story, laptop: Browser
) -> None:
    invented.to_bench().process().see().close()

    page = laptop.get("/histories/").text

    needs = [word for word in ('class="needs"', "Nothing. What drifts") if word in page]
    assert page.index(needs[0]) < page.index(ASKS)
