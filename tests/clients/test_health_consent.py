"""Consent to keep health data: asked before the first record, heeded once it is withdrawn.

GDPR, articles 7 (3), 8, 9 (2) (a) and 18.
"""

import datetime as dt

import pytest
from django.test import Client as Browser
from time_machine import TimeMachineFixture

from clients import services
from clients.models import Client, Consent, ConsentKind, PatchTest, SafetyAnswer
from clients.skin_test.gate import colour_gate
from clients.skin_test.safety import QUESTIONS
from formulas.models import ProductLine
from salon.models import Salon, Staff
from tests.factories.clients import (
    AppointmentFactory,
    ClientFactory,
    PatchTestFactory,
    ReadingFactory,
    ToneFactory,
)
from tests.factories.formulas import LineFactory
from tests.typed import Answer, SignIn

WORDS = "I agree that the salon keeps my patch tests"
ANSWERS = {q.key: "no" for q in QUESTIONS if not q.may_be_skipped}


@pytest.fixture
def line(salon: Salon) -> ProductLine:
    return LineFactory(salon=salon)


@pytest.fixture
def guest(salon: Salon) -> Client:
    return ClientFactory(salon=salon)


@pytest.fixture
def desk(client_for: SignIn, receptionist: Staff) -> Browser:
    return client_for(receptionist)


def _say(
    guest: Client, by: Staff, at: dt.datetime, *, agrees: bool, guardian: str = ""
) -> None:
    services.record_consent(
        client=guest, kind=ConsentKind.HEALTH_RECORD, wording=WORDS, is_given=agrees,
        guardian=guardian, by=by, at=at,
    )  # fmt: skip


def _place(desk: Browser, guest: Client, line: ProductLine, **more: str) -> Answer:
    data = {"line": line.pk, "site": "behind_left_ear", "batch": "B1", **more}
    return desk.post(f"/clients/{guest.pk}/patch-tests/place/", data)


def test_the_first_test_asks_in_the_clients_language(
    desk: Browser, guest: Client, line: ProductLine, receptionist: Staff
) -> None:
    guest.language = "de"
    guest.save()
    page = desk.get(f"/clients/{guest.pk}/patch-tests/place/").text
    refused = _place(desk, guest, line)

    assert '<span lang="de">Ich bin damit einverstanden, dass der Salon' in page
    assert refused.status_code == 422
    assert "Without this consent" in refused.text
    assert not PatchTest.objects.exists()
    assert _place(desk, guest, line, health_consent="on").status_code == 302
    consent = Consent.objects.get()
    assert (consent.is_given, consent.recorded_by) == (True, receptionist)
    assert consent.wording.startswith("Ich bin damit einverstanden")
    assert "Ich bin damit einverstanden" not in desk.get(f"/clients/{guest.pk}/safety/").text


def test_the_safety_questions_ask_where_nobody_has(desk: Browser, guest: Client) -> None:
    address = f"/clients/{guest.pk}/safety/"

    assert WORDS in desk.get(address).text
    assert desk.post(address, ANSWERS).status_code == 422
    assert desk.post(address, {**ANSWERS, "health_consent": "on"}).status_code == 302
    assert SafetyAnswer.objects.filter(client=guest).count() == len(QUESTIONS)


def test_a_parent_agrees_for_a_minor(
    desk: Browser, guest: Client, line: ProductLine, receptionist: Staff, now: dt.datetime
) -> None:
    guest.birth_date = now.date() - dt.timedelta(days=17 * 365)
    guest.save()

    unsigned = _place(desk, guest, line, health_consent="on")
    assert unsigned.status_code == 422
    assert "parent or guardian" in unsigned.text
    consent = {"kind": "health_record", "is_given": "1"}
    assert desk.post(f"/clients/{guest.pk}/consent/", consent).status_code == 422
    _place(desk, guest, line, health_consent="on", guardian=" Mina  Brandt ")

    given = Consent.objects.get()
    assert given.guardian == "Mina Brandt"
    assert given.wording.startswith("As parent or guardian I agree")
    assert "Agreed by" in desk.get(f"/clients/{guest.pk}/care/").text


def test_nothing_new_is_kept_once_it_is_withdrawn(
    desk: Browser, guest: Client, line: ProductLine, receptionist: Staff, now: dt.datetime
) -> None:
    _say(guest, receptionist, now - dt.timedelta(days=9), agrees=True)
    test = PatchTestFactory(client=guest, line=line, applied_at=now - dt.timedelta(days=4))
    ReadingFactory(test=test)
    assert colour_gate(client=guest, line=line, at=now).is_open

    said = desk.post(
        f"/clients/{guest.pk}/consent/", {"kind": "health_record", "is_given": "0"}, follow=True
    )

    assert "colour is not possible" in said.text
    gate = colour_gate(client=guest, line=line, at=now + dt.timedelta(minutes=1))
    assert [reason.code for reason in gate.reasons] == ["consent_withdrawn"]
    assert not gate.may_be_overridden
    for service, more in (
        (services.place_patch_test, {"line": line, "site": "inner_elbow", "batch": "B1",
                                     "applied_at": now}),
        (services.answer_safety_questions, {"answers": ANSWERS}),
        (services.raise_alert, {"kind": "allergy", "text": "Latex"}),
    ):  # fmt: skip
        with pytest.raises(services.HealthConsentWithdrawn):
            service(client=guest, by=receptionist, at=now, **more)
    alert = desk.post(f"/clients/{guest.pk}/alerts/", {"kind": "allergy", "text": "Latex"})
    assert (alert.status_code, "withdrawn the consent" in alert.text) == (422, True)


def test_a_late_reaction_is_recorded_all_the_same(
    desk: Browser, guest: Client, line: ProductLine, receptionist: Staff, now: dt.datetime
) -> None:
    test = PatchTestFactory(client=guest, line=line, applied_at=now - dt.timedelta(days=4))
    _say(guest, receptionist, now, agrees=False)

    page = desk.get(f"/clients/{guest.pk}/").text
    assert f"/patch-tests/{test.pk}/read/" in page
    desk.post(f"/patch-tests/{test.pk}/read/", {"outcome": "reaction", "signs": "rash"})

    assert guest.alerts.get().kind == "reaction"


def test_what_is_kept_only_an_owner_sees(
    client_for: SignIn, desk: Browser, guest: Client, owner: Staff, now: dt.datetime
) -> None:
    line = LineFactory(salon=guest.salon)
    test = PatchTestFactory(client=guest, line=line, applied_at=now, batch="BATCH-7")
    services.answer_safety_questions(
        client=guest, answers={**ANSWERS, "asthma": "yes"}, by=owner, at=now
    )
    pages = (f"/clients/{guest.pk}/", f"/clients/{guest.pk}/safety/")
    before = [desk.get(page).text for page in pages]
    _say(guest, owner, now, agrees=False)
    after = [desk.get(page).text for page in pages]

    assert "BATCH-7" in before[0]
    assert "BATCH-7" not in after[0]
    assert "Answered before" in before[1]
    assert "Answered before" not in after[1]
    assert "BATCH-7" in client_for(owner).get(pages[0]).text
    assert desk.get(f"/patch-tests/{test.pk}/slip/").status_code == 403
    assert client_for(owner).get(f"/patch-tests/{test.pk}/slip/").status_code == 200
    assert desk.get(f"/clients/{guest.pk}/care/").status_code == 200


def test_the_diary_says_that_colour_is_not_possible(
    *,
    desk: Browser,
    guest: Client,
    line: ProductLine,
    receptionist: Staff,
    now: dt.datetime,
    time_machine: TimeMachineFixture,
) -> None:
    noon = now.replace(hour=12, minute=0)
    time_machine.move_to(noon)
    AppointmentFactory(
        client=guest, service=ToneFactory(salon=guest.salon), line=line, starts_at=noon
    )
    for diary in ("/day/", "/week/"):
        assert "Consent withdrawn: no colour" not in desk.get(diary).text

    _say(guest, receptionist, now, agrees=False)

    page = desk.get("/day/").text
    assert "Consent withdrawn: no colour" in page
    assert "/check-in/" not in page
    assert "Consent withdrawn: no colour" in desk.get("/week/").text
