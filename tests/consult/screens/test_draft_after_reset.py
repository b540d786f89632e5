"""A session that an owner ended: what was typed in a visit is still there."""

from django.test import Client as Browser
from django.utils import timezone

from salon import services as house
from salon.models import Staff
from tests.consult.screens.test_drafts import NOTE, _here, _keep
from tests.factories.consult import Story


def test_a_reset_password_ends_the_session_and_not_what_was_typed(
    story: Story, tablet: Browser, stylist: Staff, owner: Staff
) -> None:
    _keep(tablet, story)
    once = house.reset_password(member=stylist, by=owner, at=timezone.now())
    assert _keep(tablet, story).status_code == 302
    again = Browser()
    new = "seven spoons under the moon"
    again.post("/sign-in/", {"username": stylist.username, "password": once})
    again.post("/account/", {"current": once, "new_password1": new, "new_password2": new})

    (draft,) = _here(again, story, first="on").json()["drafts"]

    assert draft["fields"][0] == ["scalp", NOTE]
