"""What one person alone may not do: a late entry, a merge, a birth date over an age line."""

import datetime as dt
from functools import partial
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client as Browser

from clients import services
from clients.diary.changes import sentences
from clients.models import (
    Appointment,
    Client,
    PatchTest,
    ReadingOutcome,
    Service,
    Status,
)
from clients.people import duplicates, possible_duplicates
from clients.skin_test.gate import colour_gate
from clients.skin_test.state import Code, patch_state
from formulas.models import ProductLine
from salon.models import AuditEvent, Salon, Staff
from salon.tablet.services import confirm_by_pin, set_pin
from tests.factories.clients import (
    AppointmentFactory,
    ClientFactory,
    PatchTestFactory,
    ReadingFactory,
)
from tests.typed import Placer, present

pytestmark = pytest.mark.usefixtures("clock")
HOUR = dt.timedelta(hours=1)
DAY = dt.timedelta(days=1)


@pytest.fixture
def place(person: Client, line: ProductLine, receptionist: Staff, now: dt.datetime) -> Placer:
    def place(ago: dt.timedelta, **more: Any) -> PatchTest:
        return services.place_patch_test(
            **{
                "client": person,
                "line": line,
                "site": "behind_left_ear",
                "batch": "B1",
                "applied_at": now - ago,
                "by": receptionist,
                "at": now,
                **more,
            }
        )

    return place


def test_a_test_placed_in_the_last_quarter_of_an_hour_is_entered_freely(place: Placer) -> None:
    test = place(dt.timedelta(minutes=15))

    assert not test.is_entered_late
    assert test.late_note == ""


def test_an_earlier_one_needs_a_reason_and_a_second_person(
    place: Placer, stylist: Staff, receptionist: Staff
) -> None:
    with pytest.raises(services.NeedsSecondPerson, match="Give a reason"):
        place(49 * HOUR, witness=stylist)
    for witness in (None, receptionist):
        with pytest.raises(services.NeedsSecondPerson, match="a colleague"):
            place(49 * HOUR, late_reason="forgotten", witness=witness)

    test = place(49 * HOUR, late_reason="forgotten", witness=stylist)

    assert "Entered later" in test.late_note
    event = AuditEvent.objects.get(kind="patch test placed")
    assert event.detail["placed_at"] == test.applied_at.isoformat()
    assert (event.at, event.detail["witness"]) == (test.recorded_at, stylist.pk)


def test_the_owner_may_enter_one_late_alone(place: Placer, owner: Staff) -> None:
    assert place(49 * HOUR, by=owner, late_reason="forgotten").is_entered_late


def test_who_entered_it_late_does_not_read_it_in_the_same_sitting(
    *, place: Placer, stylist: Staff, receptionist: Staff, person: Client,
    line: ProductLine, now: dt.datetime
) -> None:  # fmt: skip
    test = place(49 * HOUR, late_reason="forgotten", witness=stylist)
    read = partial(
        services.record_patch_test_reading,
        test=test,
        outcome=ReadingOutcome.NO_REACTION,
        at=now,
    )

    with pytest.raises(services.ReadingRefused, match="a colleague has to read it"):
        read(by=receptionist)
    read(by=stylist)

    gate = colour_gate(client=person, line=line, at=now)
    assert gate.is_open
    assert "Entered later" in gate.state.detail


def test_a_clear_reading_is_not_dated_back(
    person: Client, line: ProductLine, receptionist: Staff, now: dt.datetime
) -> None:
    test = PatchTestFactory(client=person, line=line, applied_at=now - 3 * DAY)

    with pytest.raises(services.ReadingRefused, match="while you look"):
        services.record_patch_test_reading(
            test=test, outcome="no_reaction", read_at=now - DAY, by=receptionist, at=now
        )


def test_a_line_that_was_reacted_to_is_tested_again_by_the_owner_only(
    place: Placer, person: Client, line: ProductLine, owner: Staff, now: dt.datetime
) -> None:
    ReadingFactory(
        test=PatchTestFactory(client=person, line=line, applied_at=now - 9 * DAY),
        outcome=ReadingOutcome.REACTION,
    )

    with pytest.raises(services.PlacingRefused, match="Only the owner"):
        place(dt.timedelta(0))
    assert place(dt.timedelta(0), by=owner).pk


def test_a_pin_makes_a_second_person_and_nobody_is_their_own(
    stylist: Staff, receptionist: Staff, other_salon: Salon, now: dt.datetime
) -> None:
    for member in (stylist, receptionist):
        set_pin(by=member, pin="739164", at=now)
    confirm = partial(confirm_by_pin, by=receptionist, at=now)

    assert confirm(staff_id=stylist.pk, pin="739164") == stylist
    assert confirm(staff_id=stylist.pk, pin="739165") is None
    assert confirm(staff_id=receptionist.pk, pin="739164") is None
    for _try in range(5):
        confirm(staff_id=stylist.pk, pin="111111")
    assert confirm(staff_id=stylist.pk, pin="739164") is None


@pytest.fixture
def cleared(salon: Salon, line: ProductLine, now: dt.datetime) -> Client:
    """Somebody with a clear test, who shares nothing but a phone."""
    other = ClientFactory(
        salon=salon, name="Chiara", birth_date=dt.date(1998, 1, 1), phone="+441174960101"
    )
    ReadingFactory(test=PatchTestFactory(client=other, line=line, applied_at=now - 9 * DAY))
    return other


@pytest.fixture
def booked(
    person: Client, line: ProductLine, tone: Service, stylist: Staff, now: dt.datetime
) -> Appointment:
    return AppointmentFactory(
        client=person, line=line, service=tone, stylist=stylist, starts_at=now + HOUR
    )


def test_a_family_is_no_duplicate(salon: Salon, person: Client, cleared: Client) -> None:
    Client.objects.filter(pk=person.pk).update(phone="+441174960101")
    possible_duplicates.refresh([person.pk])

    pairs = duplicates.to_review(salon=salon)

    assert [pair.may_be_one for pair in pairs] == [False]


def test_one_person_does_not_merge_other_births_or_tests(
    person: Client, cleared: Client, receptionist: Staff, stylist: Staff, now: dt.datetime
) -> None:
    with pytest.raises(services.NeedsSecondPerson):
        services.merge_clients(kept=person, merged=cleared, by=receptionist, at=now)

    assert services.merge_clients(
        kept=person, merged=cleared, by=receptionist, witness=stylist, at=now
    ).pk


def test_the_others_test_counts_once_the_same_body_is_confirmed(
    *, person: Client, cleared: Client, line: ProductLine, receptionist: Staff,
    stylist: Staff, now: dt.datetime
) -> None:  # fmt: skip
    merge = services.merge_clients(
        kept=person, merged=cleared, by=receptionist, witness=stylist, at=now
    )
    person.refresh_from_db()
    assert patch_state(client=person, line=line, at=now).code is Code.NONE
    with pytest.raises(services.NeedsSecondPerson):
        services.confirm_same_body(merge=merge, by=receptionist, at=now)

    services.confirm_same_body(merge=merge, by=receptionist, witness=stylist, at=now)

    assert patch_state(client=person, line=line, at=now).code is Code.CLEAR


def test_the_others_reaction_counts_at_once(
    person: Client, cleared: Client, line: ProductLine, owner: Staff, now: dt.datetime
) -> None:
    ReadingFactory(
        test=PatchTestFactory(client=cleared, line=line, applied_at=now - 20 * DAY),
        outcome=ReadingOutcome.REACTION,
    )
    services.merge_clients(kept=person, merged=cleared, by=owner, at=now)

    assert patch_state(client=person, line=line, at=now).code is Code.REACTED


def test_an_appointment_that_came_by_a_merge_waits_for_the_confirmation(
    *, person: Client, cleared: Client, booked: Appointment, owner: Staff, line: ProductLine,
    now: dt.datetime
) -> None:  # fmt: skip
    services.merge_clients(kept=cleared, merged=person, by=owner, at=now)
    booked.refresh_from_db()
    assert booked.client == cleared

    with pytest.raises(services.CheckInRefused, match="another entry"):
        services.check_in(appointment=booked, by=owner, at=now)


def test_undoing_a_merge_undoes_the_check_in_that_relied_on_it(
    person: Client, cleared: Client, booked: Appointment, owner: Staff, now: dt.datetime
) -> None:
    merge = services.merge_clients(
        kept=person, merged=cleared, by=owner, is_same_body=True, at=now
    )
    services.check_in(appointment=booked, by=owner, at=now)

    services.undo_merge(merge=merge, by=owner, at=now)

    booked.refresh_from_db()
    assert booked.status == Status.BOOKED
    assert "relied on a merge" in " ".join(sentences(present(booked.events.last())))
    assert services.undone_check_ins(merge=merge) == [person.name]


def test_the_pages_of_two_people(
    *, desk: Browser, person: Client, cleared: Client, line: ProductLine, stylist: Staff,
    booked: Appointment, now: dt.datetime
) -> None:  # fmt: skip
    set_pin(by=stylist, pin="739164", at=now)
    pair = {"kept": person.pk, "merged": cleared.pk}
    assert "This takes two people" in desk.get("/clients/merge/", pair).content.decode()
    alone = desk.post("/clients/merge/", pair)
    assert alone.status_code == 422
    late = desk.post(
        f"/clients/{person.pk}/patch-tests/place/",
        {
            "health_consent": "on",
            "line": line.pk,
            "site": "behind_left_ear",
            "batch": "B",
            "applied_at": "2026-03-08T09:00",
        },
    )
    assert late.status_code == 422

    second = {"colleague": stylist.pk, "colleague_pin": "739164"}
    assert desk.post("/clients/merge/", {**pair, **second}).status_code == 302
    page = desk.get("/clients/duplicates/").content.decode()
    assert "same person not confirmed" in page
    refused = desk.post(f"/appointments/{booked.pk}/check-in/")
    assert "Not checked in" in refused.content.decode()
    assert "STOP" in desk.get("/day/2026-03-11/sheet/").content.decode()


def test_a_stranger_is_no_second_person(place: Placer, other_salon: Salon) -> None:
    from tests.factories.salon import StaffFactory

    with pytest.raises(services.NeedsSecondPerson):
        place(49 * HOUR, late_reason="x", witness=StaffFactory(salon=other_salon))
    with pytest.raises(PermissionDenied):
        place(49 * HOUR, late_reason="x", by=StaffFactory(salon=other_salon))
