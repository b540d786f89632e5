"""Each page of a visit: works, another salon's is not there, wrong method, out of order.

Sign-in and roles are asked of every route by tests/project/test_roles.py.
"""

import datetime as dt

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import translation

from consult.agreement import statement
from consult.models import Status
from salon.models import Salon, Staff
from tests.factories.consult import (
    Story,
    checked_in,
    cleared_client,
    opened,
    owner_of,
    stocked_line,
)
from tests.typed import SignIn

STEPS = ("safety", "hair", "choice", "sign", "formula", "bench", "result", "card")
POST_ONLY = ("stop", "prediction", "rescale", "swap")


def _at(name: str, *args: int) -> str:
    return reverse(f"consult:{name}", args=args)


def _told_to(story: Story, step: str) -> None:
    """Tell a story up to a step's page."""
    tell = (
        story.answer,
        story.read,
        story.choose,
        story.sign,
        story.decide,
        story.process,
        story.see,
    )
    for one in tell[: STEPS.index(step)]:
        one()


@pytest.mark.parametrize("step", STEPS)
def test_a_step_that_is_due_opens(story: Story, tablet: Browser, step: str) -> None:
    _told_to(story, step)

    response = tablet.get(_at(step, story.visit.pk))

    assert response.status_code == 200
    assert story.visit.client.name in response.text
    assert response.headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize("step", STEPS[1:])
def test_a_step_out_of_order_leads_to_the_one_that_is_due(
    story: Story, tablet: Browser, step: str
) -> None:
    response = tablet.get(_at(step, story.visit.pk), follow=True)

    assert response.redirect_chain == [(_at("safety", story.visit.pk), 302)]
    assert "Do this step first." in response.text


@pytest.mark.parametrize("step", STEPS)
def test_a_closed_visit_is_only_read(story: Story, tablet: Browser, step: str) -> None:
    visit = story.to_end()

    for send in (tablet.get, tablet.post):
        response = send(_at(step, visit.pk))
        assert response.status_code == 302
        assert response.headers["Location"] == _at("visit", visit.pk)

    visit.refresh_from_db()
    assert (visit.status, visit.version) == (Status.CLOSED, story.visit.version)


@pytest.mark.parametrize("name", [*STEPS, "visit", "card_pdf"])
def test_another_salons_visit_is_not_there(
    tablet: Browser, other_salon: Salon, now: dt.datetime, name: str
) -> None:
    theirs = opened(other_salon, stylist=owner_of(other_salon), at=now)

    assert tablet.get(_at(name, theirs.visit.pk)).status_code == 404


@pytest.mark.parametrize("name", POST_ONLY)
def test_another_salons_visit_takes_no_post(
    tablet: Browser, other_salon: Salon, now: dt.datetime, name: str
) -> None:
    theirs = opened(other_salon, stylist=owner_of(other_salon), at=now)

    assert tablet.post(_at(name, theirs.visit.pk)).status_code == 404


@pytest.mark.parametrize("name", [*STEPS, "visit", "tones"])
def test_an_id_that_nobody_has_is_not_there(tablet: Browser, name: str) -> None:
    assert tablet.get(_at(name, 2**62)).status_code == 404
    assert tablet.get(_at(name, 10**30)).status_code == 404


@pytest.mark.parametrize("text", ["abc", "-1", "1.5", "%00", "１/../2"])
def test_a_malformed_id_is_not_there(tablet: Browser, text: str) -> None:
    assert tablet.get(f"/visits/{text}/").status_code == 404


@pytest.mark.parametrize("name", ["visit", "card_pdf", "tones"])
def test_what_is_only_read_takes_no_post(story: Story, tablet: Browser, name: str) -> None:
    pk = story.visit.client_id if name == "tones" else story.visit.pk

    assert tablet.post(_at(name, pk)).status_code == 405


@pytest.mark.parametrize("name", POST_ONLY)
def test_what_only_writes_has_no_page(story: Story, tablet: Browser, name: str) -> None:
    story.to_bench()

    assert tablet.get(_at(name, story.visit.pk)).status_code == 405


@pytest.mark.usefixtures("at_noon")
def test_today_shows_the_stylists_own_clients_with_their_state(
    story: Story, tablet: Browser, salon: Salon, now: dt.datetime
) -> None:
    someone = owner_of(salon)
    line = stocked_line(salon, by=someone, at=now, name="Slatecliff")
    other = cleared_client(salon, line, by=someone, at=now, name="Not Mine")
    checked_in(other, line, stylist=someone, starts_at=now)

    own = tablet.get(_at("today")).text
    everyone = tablet.get(_at("today") + "?whose=all").text

    assert "Ada Brandt" in own
    assert "Test clear" in own
    assert "Not Mine" not in own
    assert "Not Mine" in everyone


def test_a_visit_left_open_on_an_earlier_day_is_shown(
    salon: Salon, stylist: Staff, tablet: Browser, now: dt.datetime
) -> None:
    opened(salon, stylist=stylist, at=now - dt.timedelta(days=2))

    assert "Still open from earlier days" in tablet.get(_at("today")).text


def test_beginning_opens_the_visit_once(
    salon: Salon, stylist: Staff, tablet: Browser, now: dt.datetime
) -> None:
    line = stocked_line(salon, by=stylist, at=now)
    client = cleared_client(salon, line, by=stylist, at=now)
    appointment = checked_in(client, line, stylist=stylist, starts_at=now)

    first = tablet.post(_at("open", appointment.pk))
    second = tablet.post(_at("open", appointment.pk))

    assert first.headers["Location"] == second.headers["Location"]
    assert appointment.visits.count() == 1


def test_beginning_needs_a_check_in_and_says_so(
    salon: Salon, stylist: Staff, tablet: Browser, now: dt.datetime
) -> None:
    line = stocked_line(salon, by=stylist, at=now)
    client = cleared_client(salon, line, by=stylist, at=now)
    appointment = checked_in(client, line, stylist=stylist, starts_at=now)
    appointment.status = "booked"
    appointment.save()

    response = tablet.post(_at("open", appointment.pk), follow=True)

    assert "Check the client in at the desk first" in response.text
    assert not appointment.visits.exists()


def test_a_visit_ends_without_colour_only_with_a_reason(story: Story, tablet: Browser) -> None:
    address, version = _at("stop", story.visit.pk), story.visit.version

    refused = tablet.post(address, {"version": version, "reason": " "})
    ended = tablet.post(address, {"version": version, "reason": "Hair too fragile"})

    assert refused.status_code == 422
    assert ended.headers["Location"] == _at("today")
    story.visit.refresh_from_db()
    assert (story.visit.status, story.visit.stop_reason) == ("stopped", "Hair too fragile")


def test_a_closed_visit_opens_its_correction_and_each_page_leads_to_the_other(
    story: Story, tablet: Browser
) -> None:
    closed = story.to_end()
    page = tablet.get(_at("visit", closed.pk)).text
    assert "Start a correction" in page
    assert "was corrected" not in page
    form = {"corrects": closed.pk, "once": "a3f0c2d4-9b1e-4f57-8c26-5d0e7b1a9f33"}
    assert f'name="corrects" value="{closed.pk}"' in page

    first = tablet.post(_at("open", closed.appointment_id), form)
    second = tablet.post(_at("open", closed.appointment_id), form)

    redo = closed.corrections.get()
    assert first.headers["Location"] == second.headers["Location"] == _at("safety", redo.pk)
    back = tablet.get(_at("visit", redo.pk)).text
    assert "This visit corrects the one on" in back
    assert f'<a href="{_at("visit", closed.pk)}">Show</a>' in back
    forth = tablet.get(_at("visit", closed.pk)).text
    assert "This visit was corrected on" in forth
    assert f'<a href="{_at("visit", redo.pk)}">Show</a>' in forth


def test_the_overview_tells_what_was_promised_and_came_out(
    salon: Salon, stylist: Staff, tablet: Browser, now: dt.datetime
) -> None:
    opened(salon, stylist=stylist, at=now - dt.timedelta(days=40)).to_end(note="held well")
    story = opened(salon, stylist=stylist, at=now)

    text = tablet.get(_at("visit", story.visit.pk)).text

    assert "Colour can start" in text
    assert "held well" in text
    assert "as dark as level 6.5, 45 % of the warmth left" in text


def test_tones_stand_in_a_row_with_predicted_and_seen(
    salon: Salon, stylist: Staff, tablet: Browser, now: dt.datetime
) -> None:
    first = opened(salon, stylist=stylist, at=now - dt.timedelta(days=80))
    first.to_end()
    opened(salon, stylist=stylist, at=now - dt.timedelta(days=40)).to_end()

    text = tablet.get(_at("tones", first.visit.client_id)).text

    assert "2 visits" in text
    assert text.count("Predicted</th>") == 2
    assert "8 natural" in text or "violet" in text


def test_another_salons_tones_are_not_there(
    tablet: Browser, other_salon: Salon, now: dt.datetime
) -> None:
    theirs = opened(other_salon, stylist=owner_of(other_salon), at=now)

    assert tablet.get(_at("tones", theirs.visit.client_id)).status_code == 404


def test_histories_hold_this_salon_only(
    client_for: SignIn, owner: Staff, salon: Salon, other_salon: Salon, now: dt.datetime
) -> None:
    opened(salon, stylist=owner, at=now - dt.timedelta(hours=3)).to_end()
    opened(other_salon, stylist=owner_of(other_salon), at=now, name="Elsewhere Else").to_end()

    text = client_for(owner).get(_at("histories")).text

    assert "Ada Brandt" in text
    assert "Elsewhere Else" not in text
    assert "of 1" in text


def test_visits_of_a_merged_entry_belong_to_the_same_history(
    salon: Salon, stylist: Staff, tablet: Browser, now: dt.datetime
) -> None:
    from clients.models import Client

    double = opened(salon, stylist=stylist, at=now - dt.timedelta(days=40), name="Ada B.")
    double.to_end(note="the entry made twice")
    story = opened(salon, stylist=stylist, at=now)
    Client.objects.filter(pk=double.visit.client_id).update(merged_into=story.visit.client)

    overview = tablet.get(_at("visit", story.visit.pk)).text
    tones = tablet.get(_at("tones", story.visit.client_id)).text

    assert "the entry made twice" in overview
    assert "the entry made twice" in tones


@pytest.mark.parametrize(("language", "said"), [("en-gb", "320,023"), ("de", "320.023")])
def test_large_counts_are_grouped_as_the_reader_writes_them(language: str, said: str) -> None:
    with translation.override(language):
        assert statement.whole(320023) == said
