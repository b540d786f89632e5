"""The tablet in the client's hands never leads to the records."""

import datetime as dt
import json
from typing import Any

import pytest
from django.conf import settings
from django.test import Client as Browser
from django.urls import reverse

from consult.agreement.planning import field_name
from consult.models import Draft
from consult.screens.choice_head import ChoiceGroup
from formulas.models import Shade
from salon.models import Staff
from salon.tablet import services as pins
from tests.factories.consult import SIGNATURE, Story
from tests.typed import Answer, present

ALL = "roots,mid_lengths,ends"
PASSWORD = "a long enough password"
PIN = "604918"


@pytest.fixture
def handed(story: Story, tablet: Browser, stylist: Staff) -> Story:
    """A visit at its choice, handed to the client."""
    stylist.set_password(PASSWORD)
    stylist.save()
    tablet.force_login(stylist, backend="django.contrib.auth.backends.ModelBackend")
    story.answer().read()
    tablet.post(_at("hand_over", story))
    return story


@pytest.fixture
def handed_on_the_tablet(
    handed: Story, tablet: Browser, stylist: Staff, owner: Staff, now: dt.datetime
) -> Story:
    """The same on an enrolled device, whose stylist has a PIN."""
    pins.set_pin(by=stylist, pin=PIN, at=now)
    _device, token = pins.enrol_device(name="Counter tablet", by=owner, at=now)
    tablet.post("/sign-out/")
    tablet.cookies[settings.DEVICE_COOKIE_NAME] = token
    tablet.post("/sign-in/", {"username": stylist.username, "password": PASSWORD})
    tablet.post(_at("hand_over", handed))
    return handed


def _at(name: str, story: Story) -> str:
    return reverse(f"consult:{name}", args=[story.visit.pk])


@pytest.mark.parametrize(
    "address",
    ["/today/", "/clients/", "/day/", "/", "/visits/{pk}/", "/visits/{pk}/choice/",
     "/visits/{pk}/safety/", "/visits/{pk}/bench-card.pdf", "/clients/{client}/tones/"],
)  # fmt: skip
def test_every_other_page_leads_back(handed: Story, tablet: Browser, address: str) -> None:
    asked = address.format(pk=handed.visit.pk, client=handed.visit.client_id)

    for response in (tablet.get(asked), tablet.post(asked)):
        assert response.status_code == 302
        assert response.headers["Location"] == _at("client_choice", handed)


def test_another_visits_client_page_leads_back(handed: Story, tablet: Browser) -> None:
    other = reverse("consult:client_choice", args=[handed.visit.pk + 1])

    assert tablet.get(other).headers["Location"] == _at("client_choice", handed)


def test_a_fragment_leads_back_too(handed: Story, tablet: Browser) -> None:
    response = tablet.get("/day/", headers={"HX-Request": "true"})

    assert response.headers["HX-Redirect"] == _at("client_choice", handed)


def test_the_client_sees_the_choice_and_nothing_of_the_record(
    handed: Story, tablet: Browser
) -> None:
    text = tablet.get(_at("client_choice", handed)).text

    assert "How would you like your colour?" in text
    assert handed.visit.client.name not in text
    assert 'href="/clients/' not in text
    assert 'href="/today/' not in text
    shades = Shade.objects.values_list("name", flat=True)
    assert shades
    assert not [name for name in shades if name in text]  # a place, not a recipe


def test_the_client_chooses_and_signs(handed: Story, tablet: Browser) -> None:
    version = handed.visit.version

    chosen = tablet.post(
        _at("client_choice", handed), {"version": version, field_name(ALL): "35"}
    )
    signed = tablet.post(
        _at("client_sign", handed),
        {
            "version": version + 1,
            "choice": handed.visit.choices.get().pk,
            "method": "drawn",
            "signed_name": "Ada Brandt",
            "signature_strokes": SIGNATURE,
            "has_understood": "on",
        },
    )

    assert chosen.headers["Location"] == _at("client_sign", handed)
    assert signed.headers["Location"] == _at("client_done", handed)
    assert handed.visit.sign_offs.get().witness == handed.by


def _keep(tablet: Browser, handed: Story, **changes: Any) -> Answer:
    fields = json.dumps([[field_name(ALL), "35"], ["signature_strokes", SIGNATURE]])
    data = {"step": "client_choice", "version": handed.visit.version, "fields": fields}
    return tablet.post(_at("draft", handed), {**data, **changes})


def _place(tablet: Browser, handed: Story) -> float:
    page = tablet.get(_at("client_choice", handed))
    assert page.text.count('data-autosave=""') == 1
    assert "data-here" not in page.text
    group: ChoiceGroup = page.context["groups"][0]
    return present(group.curve["chosen"])


def test_a_place_not_taken_yet_is_there_again_after_a_reload(
    handed: Story, tablet: Browser
) -> None:
    before = _place(tablet, handed)

    kept = _keep(tablet, handed)

    assert kept.status_code == 200
    assert before != 35
    assert _place(tablet, handed) == 35
    assert Draft.objects.get().fields == [[field_name(ALL), "35"]]  # and never a signature
    form = {"version": handed.visit.version, field_name(ALL): "35",
            "draft_step": "client_choice", "draft_part": ""}  # fmt: skip
    assert tablet.post(_at("client_choice", handed), form).status_code == 302
    assert not Draft.objects.exists()


def test_a_place_on_hair_that_was_read_again_since_is_not_brought_back(
    handed: Story, tablet: Browser
) -> None:
    old = handed.visit.version
    _keep(tablet, handed)
    handed.read()

    late = _keep(tablet, handed, version=old)

    assert set(late.json()) == {"at", "version"}  # a client is not told who did what
    assert _place(tablet, handed) != 35


@pytest.mark.parametrize("step", ["hair", "client_sign", "choice", ""])
def test_nothing_else_is_kept_while_the_client_holds_the_tablet(
    handed: Story, tablet: Browser, step: str
) -> None:
    kept = _keep(tablet, handed, step=step)
    other = tablet.post(
        reverse("consult:draft", args=[handed.visit.pk + 1]), {"step": "client_choice"}
    )

    assert kept.headers["Location"] == _at("client_choice", handed)
    assert other.headers["Location"] == _at("client_choice", handed)
    assert not Draft.objects.exists()
    assert "data-secret" not in tablet.get(_at("client_done", handed)).text


@pytest.mark.parametrize("password", ["", "wrong", PASSWORD + " "])
def test_a_wrong_password_does_not_take_the_tablet_back(
    handed: Story, tablet: Browser, password: str
) -> None:
    response = tablet.post(_at("leave_client_view", handed), {"password": password})

    assert response.status_code == 422
    assert tablet.get("/today/").status_code == 302


def test_the_right_password_takes_it_back(handed: Story, tablet: Browser) -> None:
    response = tablet.post(_at("leave_client_view", handed), {"password": PASSWORD})

    assert response.headers["Location"] == _at("choice", handed)
    assert tablet.get("/today/").status_code == 200


def test_guessing_is_throttled_as_signing_in_is(handed: Story, tablet: Browser) -> None:
    for _guess in range(6):
        last = tablet.post(_at("leave_client_view", handed), {"password": "guess"})

    assert last.status_code == 429
    again = tablet.post(_at("leave_client_view", handed), {"password": PASSWORD})
    assert again.status_code == 429


def test_on_an_enrolled_device_the_pin_takes_it_back(
    handed_on_the_tablet: Story, tablet: Browser
) -> None:
    handed = handed_on_the_tablet
    assert "data-pin" in tablet.get(_at("client_done", handed)).text

    wrong = tablet.post(_at("leave_client_view", handed), {"pin": "941873"})
    assert wrong.status_code == 422
    assert tablet.get("/today/").status_code == 302
    right = tablet.post(_at("leave_client_view", handed), {"pin": PIN})

    assert right.headers["Location"] == _at("choice", handed)
    assert tablet.get("/today/").status_code == 200


def test_the_lock_leads_the_client_to_no_record(
    handed_on_the_tablet: Story, tablet: Browser
) -> None:
    handed = handed_on_the_tablet
    tablet.post("/lock/")

    page = tablet.get(_at("client_choice", handed))
    assert page.headers["Location"].startswith("/locked/")
    locked = tablet.get("/locked/?next=/clients/").text
    assert "Please hand the tablet to your stylist." in locked
    assert "Someone else" not in locked
    assert handed.by.display_name not in locked
    assert handed.visit.client.name not in locked
    tablet.post("/switch/", {"staff": handed.by.pk, "pin": PIN})
    assert tablet.get("/today/").headers["Location"].startswith("/locked/")

    opened = tablet.post("/locked/", {"pin": PIN, "next": "/clients/"})

    assert opened.headers["Location"] == "/clients/"
    assert tablet.get("/clients/").headers["Location"] == _at("client_choice", handed)
    assert tablet.get(_at("client_choice", handed)).status_code == 200
    assert tablet.get("/switch/").headers["Location"] == _at("client_choice", handed)


def test_a_password_at_the_lock_does_not_end_the_client_view(
    handed: Story, tablet: Browser
) -> None:
    tablet.post("/lock/")

    tablet.post("/locked/", {"password": PASSWORD})

    assert tablet.get("/today/").headers["Location"] == _at("client_choice", handed)


def test_signing_out_ends_it_and_shows_no_record(handed: Story, tablet: Browser) -> None:
    tablet.post(reverse("salon:sign_out"))

    assert tablet.get(_at("client_choice", handed)).headers["Location"].startswith("/sign-in/")


def test_the_client_pages_stay_shut_until_the_tablet_is_handed_over(
    story: Story, tablet: Browser
) -> None:
    story.answer().read()

    for name in ("client_choice", "client_sign", "client_done"):
        assert tablet.get(_at(name, story)).headers["Location"] == _at("visit", story)


def test_it_cannot_be_handed_over_before_the_choice(story: Story, tablet: Browser) -> None:
    response = tablet.post(_at("hand_over", story))

    assert response.headers["Location"] == _at("safety", story)
    assert tablet.get("/today/").status_code == 200
    assert tablet.get(_at("hand_over", story)).status_code == 405


def test_a_turned_signature_is_kept_upright() -> None:
    from consult.agreement import strokes

    drawn = json.dumps([[[10, 10], [20, 12], [30, 10], [40, 30], [50, 30]]])

    upright = json.loads(strokes.cleaned(drawn))
    turned = json.loads(strokes.cleaned(drawn, is_turned=True))

    assert turned == [[[40, 20], [30, 18], [20, 20], [10, 0], [0, 0]]]
    assert upright != turned
