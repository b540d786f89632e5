"""A consultation opens with what is known: alerts, patch state, the last three visits."""

import datetime as dt

from django.test import Client as Browser
from django.urls import reverse

from clients import services as desk
from clients.models import AlertKind
from consult.visit.path import Step
from salon.models import Salon, Staff
from tests.factories.consult import Story, opened


def test_the_first_page_tells_what_is_known(
    salon: Salon, stylist: Staff, tablet: Browser, now: dt.datetime
) -> None:
    for days in (100, 75, 50, 25):
        opened(salon, stylist=stylist, at=now - dt.timedelta(days=days)).to_end(
            note=f"Seen {days} days ago"
        )
    story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=1))
    desk.raise_alert(
        client=story.visit.client,
        kind=AlertKind.ALLERGY,
        text="Latex: nitrile gloves only",
        by=stylist,
        at=story.at,
    )

    page = tablet.get(reverse("consult:visit", args=[story.visit.pk])).text

    assert "Latex: nitrile gloves only" in page
    assert "patch test is clear and valid until" in page or "Colour cannot start" in page
    for words in ("Seen 25 days ago", "Seen 50 days ago", "Seen 75 days ago"):
        assert words in page
    assert "Seen 100 days ago" not in page
    assert page.count("<dt>Promised</dt>") == page.count("<dt>Result</dt>") == 3


def test_an_answer_that_forbids_colour_says_why_and_what_to_do(
    story: Story, tablet: Browser
) -> None:
    story.answer(black_henna_reaction="yes")

    page = tablet.get(reverse("consult:safety", args=[story.visit.pk])).text

    story.visit.refresh_from_db()
    assert story.facts.due == Step.SAFETY
    assert "Colour cannot start" in page
    assert "a doctor tests for an allergy to hair dye first" in page
