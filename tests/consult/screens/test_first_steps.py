"""An empty salon leads its owner to the first appointment; a line to begin with; the demo."""

import datetime as dt
import re
from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.test import override_settings

from consult.demo import cast
from consult.screens import first_steps
from formulas import services as formulary
from formulas.models import ProductLine
from formulas.selectors import shelf
from formulas.services.starter import STARTER_SHADES
from salon.models import Role, Salon, Staff
from tests.factories.consult import opened
from tests.factories.salon import StaffFactory
from tests.project.role_table import TABLE
from tests.typed import SignIn


@pytest.fixture
def laptop(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


def _done(salon: Salon) -> set[str]:
    return {step.key for step in first_steps.steps(salon=salon) if step.is_done}


def test_an_empty_salon_has_nothing_done_and_leads_there(laptop: Browser, salon: Salon) -> None:
    assert _done(salon) == set()
    page = laptop.get("/", follow=True)
    assert page.redirect_chain[-1][0] == "/first-steps/"
    assert "0 of 12 done" in page.text


def test_steps_are_done_by_what_is_there(laptop: Browser, salon: Salon) -> None:
    week = {f"{k}-{d}": v for d in range(7) for k, v in (("from", "09:00"), ("to", "18:00"))}
    laptop.post("/hours/week/", {**week, "open-0": "on"})
    laptop.post("/chairs/new/", {"name": "Window"})
    laptop.post("/lines/starter/", {"name": "Our line", "tubes": "2", "tube_grams": "60"})

    assert _done(salon) == {"hours", "chair", "line"}


def test_every_step_leads_to_a_page_that_opens(laptop: Browser, salon: Salon) -> None:
    for step in first_steps.steps(salon=salon):
        assert laptop.get(step.href).status_code == 200, step.key


def test_each_save_that_finishes_a_step_leads_to_the_next(
    laptop: Browser, salon: Salon
) -> None:
    laptop.get("/first-steps/")

    first = laptop.post("/chairs/new/", {"name": "Window"})
    second = laptop.post("/chairs/new/", {"name": "Mirror"})

    assert first.headers["Location"] == "/first-steps/#next"
    assert second.headers["Location"] != first.headers["Location"], "an ordinary save again"


def test_without_the_first_steps_saves_lead_where_they_always_do(
    laptop: Browser, salon: Salon
) -> None:
    answer = laptop.post("/chairs/new/", {"name": "Window"})

    assert "first-steps" not in answer.headers["Location"]


def test_what_a_salon_does_without_is_settled_and_what_it_needs_cannot_be(
    laptop: Browser, salon: Salon
) -> None:
    for key in ("tablets", "wording"):
        laptop.post(f"/first-steps/{key}/decline/")

    assert laptop.post("/first-steps/salon/decline/").status_code == 404
    salon.refresh_from_db()
    assert _done(salon) == {"tablets", "wording"}
    assert "The salon is ready" not in laptop.get("/first-steps/").text


def test_a_salon_is_not_called_ready_without_phone_wording_tablets_and_mail(
    laptop: Browser, salon: Salon, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("salon.mail.has_no_server", lambda: True)

    keys = [step.key for step in first_steps.steps(salon=salon) if not step.is_done]

    assert {"salon", "wording", "tablets", "mail"} <= set(keys)


def test_put_away_they_lead_nowhere_and_can_be_found_again(
    laptop: Browser, salon: Salon
) -> None:
    laptop.post("/first-steps/put-away/")

    assert laptop.get("/", follow=True).redirect_chain[-1][0] == "/histories/"
    assert "/first-steps/" in laptop.get("/salon/").text


def test_a_salon_with_visits_is_led_nowhere(
    laptop: Browser, salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    opened(salon, stylist=stylist, at=now - dt.timedelta(hours=2))

    assert not first_steps.lead_home(salon=salon)


def test_the_starter_line_is_in_plain_words_and_says_that_it_is_no_product(
    laptop: Browser, salon: Salon
) -> None:
    laptop.post("/lines/starter/", {"name": "Our line", "tubes": "2", "tube_grams": "60"})

    line = ProductLine.objects.get(salon=salon)
    assert line.is_starting_point
    assert {s.name for s in line.shades.all()} == set(STARTER_SHADES)
    assert all(re.fullmatch(r"(\d+ )?[a-z -]+", s) for s in STARTER_SHADES)
    assert {s.grams for s in shelf(salon=salon)} == {120}  # type: ignore[attr-defined]
    assert "Is Our line your own line?" in laptop.get(f"/lines/{line.pk}/").text


def test_a_starter_line_without_tubes_makes_no_stock(
    salon: Salon, owner: Staff, now: dt.datetime
) -> None:
    formulary.add_starter_line(
        name="Our line", tubes=0, tube_grams=Decimal(60), by=owner, at=now
    )

    assert {s.grams for s in shelf(salon=salon)} == {0}  # type: ignore[attr-defined]
    assert "line" not in _done(salon)


def test_a_name_that_is_used_is_refused_beside_the_field(
    laptop: Browser, salon: Salon, owner: Staff, now: dt.datetime
) -> None:
    formulary.add_starter_line(
        name="Our line", tubes=0, tube_grams=Decimal(60), by=owner, at=now
    )

    answer = laptop.post(
        "/lines/starter/", {"name": "Our line", "tubes": "0", "tube_grams": "60"}
    )

    assert answer.status_code == 422
    assert "already has this name" in answer.text


def test_the_demo_is_never_filled_where_records_are_real(laptop: Browser) -> None:
    with override_settings(LOCAL=False):
        assert "make demo" in laptop.get("/try-the-demo/").text
        answer = laptop.post("/try-the-demo/", {"fill": "1"})

    assert cast.PASSWORD not in answer.text
    assert Salon.objects.count() == 1


def test_the_demo_is_filled_beside_the_salon_on_a_local_installation(
    laptop: Browser, monkeypatch: pytest.MonkeyPatch, now: dt.datetime
) -> None:
    filled = []
    monkeypatch.setattr("consult.views.first_steps.fill", lambda **how: filled.append(how))

    with override_settings(LOCAL=True):
        assert "Fill the demo salon" in laptop.get("/try-the-demo/").text
        laptop.post("/try-the-demo/", {"fill": "1"})
        StaffFactory(username=cast.OWNER.username)
        assert cast.PASSWORD in laptop.get("/try-the-demo/").text
        laptop.post("/try-the-demo/", {"fill": "1"})

    assert len(filled) == 1


@pytest.mark.parametrize("role", [Role.RECEPTIONIST, Role.STYLIST, Role.OWNER])
def test_every_page_of_an_empty_salon_opens(
    client_for: SignIn, salon: Salon, role: Role
) -> None:
    browser = client_for(StaffFactory(salon=salon, role=role))
    from django.urls import NoReverseMatch, reverse

    for name, roles in TABLE.items():
        if role in roles:
            try:
                address = reverse(name)
            except NoReverseMatch:
                continue
            assert browser.get(address).status_code in {200, 302, 404, 405}, name


def test_the_first_visit_explains_itself_and_its_words(
    client_for: SignIn, salon: Salon, stylist: Staff, now: dt.datetime
) -> None:
    story = opened(salon, stylist=stylist, at=now - dt.timedelta(hours=2))
    story.answer().read()
    tablet = client_for(stylist)
    address = f"/visits/{story.visit.pk}/choice/"

    page = tablet.get(address).text
    behind = page[page.index("step-help") :]
    assert "Your first curve" in behind  # one press away, and never in the way
    assert "the line no mix can cross" in behind
