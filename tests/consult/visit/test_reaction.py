"""It reacts: one press ends every clock, blocks the line, and lets the visit be closed.

What to do first is what the warnings of Regulation (EC) 1223/2009, Annex III, and patient
leaflets on hair-dye reactions say: rinse, no more colour, a doctor; the words are our own.
"""

from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from clients import services as desk
from clients.models import Client
from clients.skin_test.gate import colour_gate
from clients.skin_test.state import Code, patch_state
from consult import services
from consult.models import MarkKind, Reaction, Status
from consult.visit.path import Act, Step
from salon.models import Role, Salon, Staff
from tests.factories.consult import Story, zone
from tests.factories.salon import StaffFactory
from tests.typed import SignIn


@pytest.fixture
def two_bowls(story: Story) -> Story:
    """A visit with two bowls on the hair."""
    story.answer().read(roots=zone(lifted_level=Decimal("7.0")))
    story.choose()
    story.sign()
    story.decide()
    for bowl in story.mix():
        services.start_processing(bowl=story.fresh(bowl), by=story.by, at=story.later())
    story.visit.refresh_from_db()
    return story


def _at(name: str, story: Story) -> str:
    return reverse(f"consult:{name}", args=[story.visit.pk])


def _code(story: Story) -> Code:
    return patch_state(client=story.visit.client, line=story.visit.line, at=story.later()).code


def test_one_press_ends_every_clock_blocks_the_line_and_says_what_to_do(
    two_bowls: Story, tablet: Browser, owner_browser: Browser
) -> None:
    for page in ("bench", "visit"):
        assert "Reaction: rinse now" in tablet.get(_at(page, two_bowls)).text

    answer = tablet.post(_at("react", two_bowls), follow=True)

    assert answer.redirect_chain[-1][0] == _at("reaction", two_bowls)
    for words in (
        "Rinse now.",
        "maker's own instructions",
        "lukewarm",
        "emergency number",
    ):
        assert words in answer.text
    ended = [
        bowl.marks.filter(kind=MarkKind.END).count() for bowl in two_bowls.visit.bowls.all()
    ]
    assert ended == [1, 1]
    two_bowls.at = timezone.now()
    assert _code(two_bowls) is Code.REACTED
    day = timezone.localtime(two_bowls.visit.appointment.starts_at, two_bowls.visit.salon.zone)
    diary = owner_browser.get(reverse("clients:day_of", args=[f"{day:%Y-%m-%d}"])).text
    assert "Reacted: no colour" in diary


@pytest.fixture
def owner_browser(client_for: SignIn, owner: Staff) -> Browser:
    return client_for(owner)


def test_the_visit_closes_once_it_is_said_what_was_seen(
    two_bowls: Story, tablet: Browser
) -> None:
    tablet.post(_at("react", two_bowls))
    two_bowls.visit.refresh_from_db()
    assert not two_bowls.facts.may(Act.CLOSE)
    assert not two_bowls.facts.may(Act.MIX)

    form = {"version": two_bowls.visit.version}
    nothing = tablet.post(_at("reaction", two_bowls), form)
    said = tablet.post(
        _at("reaction", two_bowls), {**form, "signs": ["redness", "burning"], "note": "nape"}
    )

    assert nothing.status_code == 422
    assert "Enter what you saw." in nothing.text
    assert said.headers["Location"] == _at("card", two_bowls)
    (alert,) = two_bowls.visit.client.alerts.filter(lifted_by=None, lifts=None)
    assert "burning or stinging, redness or a rash. nape" in alert.words
    two_bowls.visit.refresh_from_db()
    assert two_bowls.facts.due == Step.CARD
    assert two_bowls.close().status == Status.CLOSED
    assert two_bowls.visit.results.count() == 0


def test_a_second_press_changes_nothing(two_bowls: Story) -> None:
    first = services.report_reaction(
        visit=two_bowls.visit, by=two_bowls.by, at=two_bowls.later()
    )

    second = services.report_reaction(
        visit=two_bowls.visit, by=two_bowls.by, at=two_bowls.later()
    )

    assert first == second
    assert two_bowls.visit.client.alerts.count() == 1


def test_another_line_needs_a_new_test_and_the_alert_stays(
    two_bowls: Story, tablet: Browser
) -> None:
    services.report_reaction(visit=two_bowls.visit, by=two_bowls.by, at=two_bowls.later())
    alert = two_bowls.visit.client.alerts.get()

    with pytest.raises(desk.AlertStays):
        desk.remove_alert(alert=alert, text="gone", by=two_bowls.by, at=two_bowls.later())
    page = tablet.post(reverse("clients:remove_alert", args=[alert.pk]), {"text": "gone"})

    assert page.status_code == 422
    gate = colour_gate(
        client=two_bowls.visit.client, line=two_bowls.visit.line, at=two_bowls.later()
    )
    assert gate.is_forbidden


def test_the_block_follows_the_person_into_another_entry(
    two_bowls: Story, salon: Salon
) -> None:
    services.report_reaction(visit=two_bowls.visit, by=two_bowls.by, at=two_bowls.later())
    other = Client.objects.create(salon=salon, name="Ada B.", registered_at=two_bowls.at)
    Client.objects.filter(pk=two_bowls.visit.client_id).update(merged_into=other)

    state = patch_state(client=other, line=two_bowls.visit.line, at=two_bowls.later())

    assert state.code is Code.REACTED


def test_a_press_by_mistake_is_taken_back_only_before_it_is_described(
    two_bowls: Story, tablet: Browser
) -> None:
    tablet.post(_at("react", two_bowls))
    two_bowls.visit.refresh_from_db()

    tablet.post(_at("take_back_reaction", two_bowls), {"version": two_bowls.visit.version})

    two_bowls.visit.refresh_from_db()
    assert two_bowls.facts.reaction is None
    assert _code(two_bowls) is Code.CLEAR
    tablet.post(_at("react", two_bowls))
    two_bowls.visit.refresh_from_db()
    services.describe_reaction(
        visit=two_bowls.visit, signs=["itching"], by=two_bowls.by, at=two_bowls.later()
    )
    with pytest.raises(services.ReactionRefused, match="stays on record"):
        services.take_back_reaction(
            visit=two_bowls.visit, by=two_bowls.by, at=two_bowls.later()
        )


def test_without_a_bowl_nothing_can_react(story: Story, tablet: Browser) -> None:
    answer = tablet.post(_at("react", story), follow=True)

    assert "Mix a bowl first." in answer.text
    assert tablet.get(_at("reaction", story)).headers["Location"] == _at("visit", story)


def test_the_desk_and_a_stranger_press_nothing(
    two_bowls: Story, salon: Salon, other_salon: Salon
) -> None:
    for person in (
        StaffFactory(salon=salon, role=Role.RECEPTIONIST),
        StaffFactory(salon=other_salon, role=Role.OWNER),
    ):
        with pytest.raises(PermissionDenied):
            services.report_reaction(visit=two_bowls.visit, by=person, at=two_bowls.later())


def test_ending_without_colour_says_why_not_and_offers_the_way(
    two_bowls: Story, tablet: Browser
) -> None:
    form = {"version": two_bowls.visit.version, "reason": "it burns"}

    refused = tablet.post(_at("stop", two_bowls), form)

    assert refused.status_code == 422
    top = refused.text.index('id="not-ended"')
    assert top < refused.text.index('id="last"')
    assert "Go to the bench: rinse" in refused.text


def test_the_alarm_works_after_the_consent_is_withdrawn(
    two_bowls: Story, tablet: Browser, owner_browser: Browser
) -> None:
    """What protects the client is kept (GDPR, article 9 (2) (c) and (f)); to owners alone."""
    client = two_bowls.visit.client
    desk.record_consent(
        client=client, kind="health_record", wording="no more", is_given=False,
        by=two_bowls.by, at=two_bowls.later(),
    )  # fmt: skip

    answer = tablet.post(_at("react", two_bowls), follow=True)
    two_bowls.visit.refresh_from_db()
    form = {"version": two_bowls.visit.version, "signs": ["itching"], "note": "at the nape"}
    tablet.post(_at("reaction", two_bowls), form)

    assert "Rinse now." in answer.text
    assert client.alerts.filter(kind="reaction").exists()
    assert Reaction.objects.filter(visit=two_bowls.visit, kind="seen").exists()
