"""What is shut, what goes with time, and the consents (GDPR, articles 18, 5 (1) (e) and 7)."""

import datetime as dt
import io

import pytest
from django.core.management import call_command
from django.urls import reverse

from clients import services as desk
from clients.models import (
    Client,
    RecordAccess,
    RetentionRun,
)
from clients.privacy import erasure_list
from clients.privacy.shut import RecordShut
from salon.models import AuditEvent, Staff
from tests.factories.clients import ClientFactory
from tests.factories.consult import Story
from tests.factories.erasure import end, erase
from tests.typed import SignIn, present

DAY = dt.timedelta(days=1)
NAME = "Ada Brandt"


def _shut_paths(story: Story) -> list[str]:
    client, visit = story.visit.client_id, story.visit.pk
    return [
        f"/clients/{client}/", f"/clients/{client}/care/", f"/clients/{client}/safety/",
        f"/visits/{visit}/", f"/visits/{visit}/bench/",
        f"/appointments/{story.visit.appointment_id}/",
    ]  # fmt: skip


def test_a_restricted_record_is_only_stored(
    signed: Story, owner: Staff, stylist: Staff, now: dt.datetime, client_for: SignIn
) -> None:
    end(signed)
    client = signed.visit.client
    desk.restrict_client(client=client, reason="accuracy", by=owner, at=now)
    browser = client_for(stylist)

    answers = {path: browser.get(path).status_code for path in _shut_paths(signed)}

    assert set(answers.values()) == {403}, answers
    assert "only stored" in browser.get(f"/clients/{client.pk}/").text
    client.refresh_from_db()
    with pytest.raises(RecordShut):
        desk.raise_alert(client=client, kind="other", text="x", by=stylist, at=now)
    page = client_for(owner).get(f"/clients/{client.pk}/")
    assert page.headers["Location"] == f"/clients/{client.pk}/rights/"
    later = now + 9 * 366 * DAY
    assert desk.run_retention(salon=owner.salon, at=later).counts["people"] == 0
    with pytest.raises(desk.PrivacyRefused, match="Tell the client"):
        desk.lift_restriction(client=client, is_client_informed=False, by=owner, at=now)
    desk.lift_restriction(client=client, is_client_informed=True, by=owner, at=now)
    assert browser.get(f"/clients/{client.pk}/").status_code == 200


def test_an_owner_takes_along_what_is_kept(
    signed: Story, owner: Staff, now: dt.datetime, client_for: SignIn
) -> None:
    erase(signed, owner, now)

    boss = client_for(owner)
    boss.post(reverse("consult:take_everything", args=[signed.visit.client_id]))

    assert "Download the file" in boss.get(reverse("salon:files")).text
    assert RecordAccess.objects.filter(kind="export").count() == 1


def test_a_run_erases_who_is_past_the_years_and_reports(
    owner: Staff, now: dt.datetime, receptionist: Staff
) -> None:
    old = ClientFactory(salon=owner.salon, name="Long Gone", registered_at=now - 2300 * DAY)
    new = ClientFactory(salon=owner.salon, name="Still Here", registered_at=now - 2000 * DAY)
    out = io.StringIO()

    call_command("retain", dry_run=True, stdout=out)
    assert "1  people past the years" in out.getvalue()
    assert Client.objects.filter(name="Long Gone").exists()
    call_command("retain", stdout=io.StringIO())

    old.refresh_from_db()
    new.refresh_from_db()
    assert (old.shut, new.shut) == ("erased", "")
    assert RetentionRun.objects.get().counts["people"] == 1
    assert AuditEvent.objects.filter(kind="retention run").exists()
    assert erasure_list.lines()[0].client == old.pk
    call_command("retain", stdout=io.StringIO())
    assert present(RetentionRun.objects.first()).counts["people"] == 0


def test_only_owners_see_and_do_it(
    signed: Story, owner: Staff, stylist: Staff, now: dt.datetime, client_for: SignIn
) -> None:
    end(signed)
    address = f"/clients/{signed.visit.client_id}/rights/"
    data = {"act": "ask", "reason": "in_person"}
    assert client_for(stylist).post(address, data).status_code == 403
    browser = client_for(owner)

    page = browser.get(address).text
    refused = browser.post(address, data)
    done = browser.post(address, {**data, "is_sure": "on"})

    assert "Kept until" in page
    assert "sign-offs: 1" in page
    assert refused.status_code == 422
    assert done.status_code == 302
    assert "any owner can stop it" in browser.get(address).text
    assert NAME in browser.get("/salon/retention/").text


def test_consents_go_out_as_a_table(signed: Story, owner: Staff, client_for: SignIn) -> None:
    answer = client_for(owner).post("/salon/consents/?kind=health_record&latest=on")

    lines = answer.content.decode("utf-8-sig").splitlines()
    assert lines[0].startswith("When,Client,To what")
    assert len(lines) == 2
    assert NAME in lines[1]
    assert client_for(owner).get("/salon/consents/?kind=nonsense").status_code == 422
