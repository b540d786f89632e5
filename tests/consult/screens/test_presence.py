"""Who is on a visit, the secret of a session, and forms that a script sends."""

import datetime as dt
import re
import uuid

import pytest
import time_machine
from django.test import Client as Browser
from django.urls import reverse

from consult.screens import drafts
from salon.models import Staff, Submission
from tests.consult.screens.test_drafts import _here
from tests.factories.consult import Story
from tests.typed import SignIn


def test_who_else_is_here_is_told_and_forgotten_after_forty_seconds(
    story: Story, tablet: Browser, client_for: SignIn, owner: Staff, now: dt.datetime
) -> None:
    owner.display_name = "Brigid"
    owner.save()
    laptop = client_for(owner)

    with time_machine.travel(now, tick=False) as clock:
        _here(laptop, story, step="safety", seat="b2")
        soon = _here(tablet, story).json()["others"]
        clock.shift(39)
        _here(laptop, story, step="hair", seat="b2")
        clock.shift(39)
        later = _here(tablet, story).json()["others"]
        clock.shift(2)
        gone = _here(tablet, story).json()["others"]

    assert len(soon) == 1
    assert "Brigid" in soon[0]
    assert "“Safety”" in soon[0]
    assert "“Hair”" in later[0]
    assert [re.findall(r"since ([^,]+),", one) for one in later] == [
        re.findall(r"since ([^,]+),", one) for one in soon
    ]
    assert gone == []


def test_ones_own_other_screen_is_told_as_such(story: Story, tablet: Browser) -> None:
    _here(tablet, story, seat="a1")

    other = _here(tablet, story, seat="c3").json()["others"]

    assert other == ["You have this visit open on another screen, at “Hair”."]


def test_a_sign_of_life_says_what_was_saved_meanwhile(story: Story, tablet: Browser) -> None:
    old = story.visit.version
    story.answer()

    told = _here(tablet, story, version=old).json()

    assert told["version"] == story.visit.version
    assert told["changes"][0].startswith("\u2068You\u2069")


def test_a_form_that_arrived_is_known_by_its_key(story: Story, tablet: Browser) -> None:
    key = uuid.uuid4()
    Submission.objects.create(key=key, staff=story.by, path="/x/", at=story.at)

    assert _here(tablet, story, first="on", sent=str(key)).json()["arrived"] is True
    assert _here(tablet, story, first="on", sent=str(uuid.uuid4())).json()["arrived"] is False
    assert _here(tablet, story, first="on", sent="no key").json()["arrived"] is False


def test_the_local_secret_is_one_persons_and_one_sessions(
    story: Story, client_for: SignIn, stylist: Staff, owner: Staff
) -> None:
    def secret(browser: Browser) -> str:
        text = browser.get(reverse("consult:safety", args=[story.visit.pk])).text
        return text.split('data-secret="')[1].split('"')[0]

    mine = client_for(stylist)

    assert len(secret(mine)) == 64
    assert secret(mine) == secret(mine)
    assert secret(client_for(stylist)) != secret(mine)
    assert secret(client_for(owner)) != secret(mine)
    before = secret(mine)
    mine.logout()
    mine.force_login(stylist, backend="django.contrib.auth.backends.ModelBackend")
    assert secret(mine) != before
    assert drafts.SEED not in mine.cookies


@pytest.mark.parametrize("name", ["draft", "drop_draft", "here", "hair", "check"])
def test_a_page_drawn_for_someone_else_saves_nothing_under_this_name(
    story: Story, tablet: Browser, owner: Staff, stylist: Staff, name: str
) -> None:
    args = [story.visit.pk, 1] if name == "check" else [story.visit.pk]
    address = reverse(f"consult:{name}", args=args)

    theirs = tablet.post(address, headers={"X-Staff": str(owner.pk)})
    own = tablet.post(address, headers={"X-Staff": str(stylist.pk)})

    assert (theirs.status_code, theirs.content) == (409, b"")
    assert theirs.headers["X-Someone-Else"] == "1"
    assert theirs.headers["HX-Reswap"] == "none"  # the page keeps what stands in it
    assert "X-Someone-Else" not in own.headers


def test_a_page_that_nobody_is_signed_in_for_is_led_to_the_sign_in(
    story: Story, tablet: Browser, stylist: Staff
) -> None:
    tablet.logout()

    answer = tablet.post(
        reverse("consult:draft", args=[story.visit.pk]),
        headers={"X-Staff": str(stylist.pk), "X-Scripted": "1"},
    )

    assert answer.headers["X-Location"].startswith("/sign-in/")


def test_a_form_sent_by_a_script_is_told_where_to_go_on(story: Story, tablet: Browser) -> None:
    story.to_bench()
    form = {"version": story.visit.version - 1, "once": uuid.uuid4()}

    response = tablet.post(
        reverse("consult:hand_over", args=[story.visit.pk]), form, headers={"X-Scripted": "1"}
    )

    assert response.status_code == 204
    assert response.headers["X-Location"].endswith("/client/choice/")
    assert "Location" not in response.headers


def test_a_mark_that_waited_for_the_network_counts_from_when_it_was_pressed(
    story: Story, tablet: Browser, now: dt.datetime
) -> None:
    story.to_bench()
    (bowl,) = story.mix()
    bowl.visit.refresh_from_db()
    address = reverse("consult:start", args=[story.visit.pk, bowl.pk])
    form = {"version": bowl.visit.version, "held_seconds": "90"}

    with time_machine.travel(bowl.mixed_at + dt.timedelta(minutes=3), tick=False):
        tablet.post(address, form)

    started = bowl.marks.get().marked_at
    assert started == bowl.mixed_at + dt.timedelta(seconds=90)


@pytest.mark.parametrize(
    ("held", "seconds"), [("-5", 0), ("x", 0), ("９", 0), ("999999", 0), ("99999", 120)]
)
def test_seconds_that_make_no_sense_move_no_mark_before_the_bowl_was_mixed(
    story: Story, tablet: Browser, held: str, seconds: int
) -> None:
    story.to_bench()
    (bowl,) = story.mix()
    bowl.visit.refresh_from_db()
    now = bowl.mixed_at + dt.timedelta(minutes=2)

    with time_machine.travel(now, tick=False):
        tablet.post(
            reverse("consult:start", args=[story.visit.pk, bowl.pk]),
            {"version": bowl.visit.version, "held_seconds": held},
        )

    assert (now - bowl.marks.get().marked_at).total_seconds() == seconds
