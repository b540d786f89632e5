"""Who sees what of a client's health, and where: a table of role and place.

At the desk a medical note and what the client once answered are none of anybody's business;
that colour may not start is, and why, to say so. What a patch test needs to know (an allergy to
the tape, an earlier reaction) is there for whoever places it. Photos are the bench's. GDPR,
article 5 (1) (c): data minimisation.
"""

import datetime as dt
from dataclasses import dataclass

import pytest
import time_machine
from django.test import Client as Browser
from django.utils import timezone

from clients import services as desk
from clients.models import Photo
from salon.models import Role, Salon, Staff
from tests.factories.consult import Story, opened
from tests.factories.photos import agree, phone_picture
from tests.factories.salon import StaffFactory
from tests.typed import SignIn

NOON = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
NOTE, ALLERGY, ANSWER = "takes a blood thinner", "sticking plaster", "Last answer: yes"
HINT = "Medical note"  # that there is one
DESK_SEES, BENCH_SEES = {ALLERGY, HINT}, {ALLERGY, HINT, NOTE}
ANSWERS = dict.fromkeys(
    ("scalp", "infection", "reaction_ever", "reaction_since", "black_henna",
     "black_henna_reaction", "new_allergy", "skin", "medication", "breakage", "metallic"), "no",
) | {"asthma": "yes"}  # fmt: skip


@dataclass
class House:
    """A client with something to hide, in a visit that has begun, and one of each role."""

    story: Story
    people: dict[Role, Staff]
    photo: Photo


@pytest.fixture
def house(salon: Salon) -> House:
    with time_machine.travel(NOON):
        people: dict[Role, Staff] = {
            role: StaffFactory(salon=salon, role=role, has_column=role == Role.STYLIST)
            for role in Role
        }
        stylist, now = people[Role.STYLIST], timezone.now()
        story = opened(salon, stylist=stylist, at=now - dt.timedelta(minutes=20))
        client = story.visit.client
        for kind, text in (("medical", NOTE), ("allergy", ALLERGY)):
            desk.raise_alert(client=client, kind=kind, text=text, by=stylist, at=now)
        desk.answer_safety_questions(client=client, answers=ANSWERS, by=stylist, at=now)
        appointment = story.visit.appointment
        agree(appointment, stylist, now)
        photo = desk.take_photo(
            appointment=appointment, moment="before", picture=phone_picture(), by=stylist,
            at=now,
        )  # fmt: skip
        return House(story, people, photo)


def _places(house: House) -> dict[str, str]:
    visit = house.story.visit
    client, appointment = visit.client_id, visit.appointment_id
    return {
        "client": f"/clients/{client}/",
        "care": f"/clients/{client}/care/",
        "questions": f"/clients/{client}/safety/",
        "appointment": f"/appointments/{appointment}/",
        "day": "/day/",
        "day sheet": "/day/2026-11-25/sheet/",
        "week": "/week/",
        "placing a test": f"/clients/{client}/patch-tests/place/",
        "today": "/today/",
        "visit": f"/visits/{visit.pk}/",
        "safety": f"/visits/{visit.pk}/safety/",
        "photos": f"/clients/{client}/photos/",
        "a photo": f"/photos/{house.photo.key}/",
    }


# What of these is read there, at the desk and by the bench; None: refused.
TABLE: dict[str, tuple[set[str] | None, set[str] | None]] = {
    "client":         (DESK_SEES, BENCH_SEES),
    "care":           (DESK_SEES, BENCH_SEES),
    "questions":      (set(),     {ANSWER}),
    "appointment":    (DESK_SEES, BENCH_SEES),
    "day":            (DESK_SEES, BENCH_SEES),
    "day sheet":      (DESK_SEES, BENCH_SEES),
    "week":           (set(),     set()),
    "placing a test": (DESK_SEES, BENCH_SEES),
    "today":          (None,      BENCH_SEES),
    "visit":          (None,      BENCH_SEES),
    "safety":         (None,      {ANSWER}),
    "photos":         (None,      set()),
    "a photo":        (None,      set()),
}  # fmt: skip


def _sees(browser: Browser, path: str) -> set[str] | None:
    answer = browser.get(path, follow=True)
    if answer.status_code == 403:
        return None
    assert answer.status_code == 200, path
    if answer.streaming or "text" not in answer.headers["Content-Type"]:
        return set()
    text = answer.text
    return {word for word in (NOTE, ALLERGY, ANSWER, HINT) if word.lower() in text.lower()}


@pytest.mark.parametrize("role", Role.values)
def test_each_place_tells_a_role_what_it_needs(
    house: House, client_for: SignIn, role: str
) -> None:
    browser = client_for(house.people[Role(role)])
    column = 0 if role == Role.RECEPTIONIST else 1
    with time_machine.travel(NOON):
        seen = {place: _sees(browser, path) for place, path in _places(house).items()}

    assert seen == {place: row[column] for place, row in TABLE.items()}


def test_the_desk_says_that_colour_may_not_start_and_not_what_was_answered(
    house: House, client_for: SignIn
) -> None:
    story = house.story
    with time_machine.travel(NOON + dt.timedelta(minutes=5)):
        desk.answer_safety_questions(
            client=story.visit.client,
            answers={**ANSWERS, "new_allergy": "yes", "medication": "yes"},
            by=house.people[Role.STYLIST],
            at=timezone.now(),
        )
        browser = client_for(house.people[Role.RECEPTIONIST])
        client = browser.get(f"/clients/{story.visit.client_id}/").text
        asked = browser.get(f"/clients/{story.visit.client_id}/safety/").text

    assert "new allergy" in client.lower()  # why the test counts no more, to say so
    assert "Answered before" in asked
    assert "Last answer" not in asked


def test_an_owner_can_open_it_to_the_desk(house: House, client_for: SignIn) -> None:
    desk.change_desk_policy(by=house.people[Role.OWNER], at=NOON, desk_sees_medical_notes=True)
    browser = client_for(house.people[Role.RECEPTIONIST])
    with time_machine.travel(NOON):
        seen = {
            place: _sees(browser, path)
            for place, path in _places(house).items()
            if TABLE[place][0] is not None
        }

    assert seen == {place: row[1] for place, row in TABLE.items() if row[0] is not None}
